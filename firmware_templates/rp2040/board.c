#include "board.h"

#include "chain.h"
#include "console.h"
#include "port.h"
#include "table_checks.h"

#if F_CPU != 125000000
#error "The plan is worked out for 125 MHz: choose that clock for the board."
#endif

#define RESETS_OF_PINS (RESET_IO_BANK0 | RESET_PADS_BANK0)
#define RESETS_USED (RESETS_OF_PINS | RESET_ADC | RESET_I2C1 | RESET_SPI0 | RESET_TIMER | RESET_UART1)

/* The blocks that start in reset.  The chip's clocks have been set up before: by the library's start-up code. */
static void blocks_begin(void)
{
    REGISTER_CLEAR(RESETS_RESET) = RESETS_USED;
    while ((RESETS_RESET_DONE & RESETS_USED) != RESETS_USED) {
    }
}

static void converter_power(void)
{
    ADC_CS = ADC_CS_ENABLE;
}

void board_setup(void)
{
    blocks_begin();
    pins_begin();
    restart_begin();
    chain_begin();
    if (MIDI_WIRE) {
        wire_begin();
    }
    bus_begin();
    converter_power();
    if (MIDI_USB) {
        usb_midi_begin();
    }
    if (LINK) {
        usb_link_begin();
        flash_store_begin();
    }
    console_begin();
    tick_begin();
    watchdog_begin();
}

void board_loop(void)
{
    while (!tick_is_due()) {
        console_idle();
    }
    tick_turn();
    console_tick();
    watchdog_feed();
}
