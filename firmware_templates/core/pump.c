#include "pump.h"

#include "events.h"
#include "identity.h"
#include "report.h"
#include "shoes.h"
#include "silence.h"

uint8_t pump_pending;

/* A reply that is owed to a host that is away is nothing to go round for. */
static uint8_t background_is_done(void)
{
    return !silence_left && !report_silence_left && !report_state_left &&
           (identity_only == 0 || !outlets_reach(identity_only));
}

static __attribute__((noinline)) void pump_feed_background(void)
{
    if (events_catch_up()) {
        return;
    }
    if (report_silence_left != 0 && outlets_take(report_silence_only)) {
        report_silence_next();
    } else if (silence_left && silence_next()) {
        return;
    } else if (identity_begun && outlets_take(identity_only)) {
        identity_next();
    } else if (report_state_left && outlets_take(report_state_only)) {
        report_state_next();
    } else if (shoes_ready) {
        shoes_send_next();
    } else if (identity_only != 0 && !identity_begun && outlets_take(identity_only)) {
        identity_next();
    } else if (background_is_done()) {
        pump_pending = 0;
        outlets_flush();
    }
}

/* The order of urgency: notes, pistons, stops, then what is reported at the start or silenced on order, then how things
 * stand, then shoes, then who this is.  The first of the start is silence: changes are queued only after it. */
void pump_feed(void)
{
    if (!events_send_next()) {
        pump_feed_background();
    }
}
