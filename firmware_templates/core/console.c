#include "console.h"

#include "counters.h"
#include "events.h"
#include "expanders.h"
#include "groups.h"
#include "lanes.h"
#include "midi.h"
#include "pump.h"
#include "report.h"
#include "scan.h"
#include "shoes.h"

void console_begin(void)
{
    lanes_begin();
    groups_begin();
    counters_begin();
    events_begin();
    midi_begin();
    shoes_begin();
    report_begin();
    scan_begin();
    expanders_begin();
}

/* What follows the scan stays out of line: the compiler then gives the scan, which it merges into the main loop, the
 * registers that it needs, whatever else there is to do. */
static __attribute__((noinline)) void console_tick_rest(void)
{
    expanders_tick();
    midi_tick();
    shoes_tick();
    report_tick();
    pump_run();
}

void console_tick(void)
{
    scan_tick();
    console_tick_rest();
}

void console_idle(void)
{
    pump_run();
    expanders_run();
}
