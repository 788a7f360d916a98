#include "console.h"

#include "chatter.h"
#include "counters.h"
#include "events.h"
#include "expanders.h"
#include "groups.h"
#include "identity.h"
#include "lanes.h"
#include "link.h"
#include "listen.h"
#include "midi.h"
#include "midi_in.h"
#include "outlets.h"
#include "pump.h"
#include "report.h"
#include "scan.h"
#include "shoes.h"
#include "silence.h"

void console_begin(void)
{
    lanes_begin();
    groups_begin();
    counters_begin();
    events_begin();
    midi_begin();
    outlets_begin();
    midi_in_begin();
    identity_begin();
    silence_begin();
    shoes_begin();
    report_begin();
    scan_begin();
    expanders_begin();
    listen_begin();
    link_begin();
}

/* What follows the scan stays out of line: the compiler then gives the scan, which it merges into the main loop, the
 * registers that it needs, whatever else there is to do. */
static __attribute__((noinline)) void console_tick_rest(void)
{
    link_scanned();
    expanders_tick();
    listen_tick();
    midi_tick();
    midi_in_tick();
    silence_tick();
    if (LINK) {
        chatter_tick();
    }
    outlets_tick();
    shoes_tick();
    report_tick();
    pump_run();
    link_tick();
}

void console_tick(void)
{
    scan_tick();
    console_tick_rest();
}

void console_idle(void)
{
    pump_run();
    midi_in_run();
    expanders_run();
}
