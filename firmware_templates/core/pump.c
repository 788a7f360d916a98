#include "pump.h"

#include "events.h"
#include "report.h"
#include "shoes.h"

static void pump_background(void)
{
    events_catch_up();
    if (report_state_left) {
        if (events_class_idle(DUTY_STOPS)) {
            report_state_next();
        }
    } else if (shoes_ready) {
        shoes_send_next();
    }
}

/* The order of urgency: silence at the start, notes, pistons, stops, the state report, shoes. */
void pump_feed(void)
{
    if (!report_silence_next() && !events_send_next()) {
        pump_background();
    }
}
