#include "pump.h"

#include "events.h"
#include "report.h"
#include "shoes.h"

uint8_t pump_pending;

static __attribute__((noinline)) void pump_feed_background(void)
{
    if (events_catch_up()) {
        return;
    }
    if (report_silence_left != 0) {
        report_silence_next();
    } else if (report_state_left) {
        report_state_next();
    } else if (shoes_ready) {
        shoes_send_next();
    } else {
        pump_pending = 0;
    }
}

/* The order of urgency: notes, pistons, stops, then what is reported at the start, then shoes.  The first of the
 * start is silence: changes are queued only after it. */
void pump_feed(void)
{
    if (!events_send_next()) {
        pump_feed_background();
    }
}
