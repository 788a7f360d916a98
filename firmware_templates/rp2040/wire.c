#include "wire.h"

#include "pins.h"

#define BAUD 31250u
#define DIVISOR_64THS (F_CPU * 4u / BAUD) /* of 16 times the baud rate; data sheet, 4.2.7.1 */

#if (F_CPU * 4u) % BAUD != 0
#error "The clock gives no exact 31,250 baud: choose 125 MHz."
#endif

/* A loop of 5 mA through 33 ohm and 10 ohm needs a pin that drives it (MIDI 1.0 electrical specification update of
 * 2014, 3.3 V transmitter; from memory). */
#define PAD_MIDI_OUT (PAD_INPUT | PAD_DRIVE_12_MA)

uint32_t wire_free_us;

void wire_begin(void)
{
    UART1_IBRD = DIVISOR_64THS / 64u;
    UART1_FBRD = DIVISOR_64THS % 64u;
    UART1_LCR_H = UART_LCR_8_BITS | UART_LCR_FIFOS; /* takes over the divisor, so it comes after it */
    UART1_CR = UART_CR_ENABLE | UART_CR_TRANSMIT | UART_CR_RECEIVE;
    PADS_GPIO(PIN_MIDI_OUT) = PAD_MIDI_OUT;
    IO_GPIO_CTRL(PIN_MIDI_OUT) = FUNCTION_UART;
    IO_GPIO_CTRL(PIN_MIDI_IN) = FUNCTION_UART;
    wire_free_us = TIMER_RAW_LOW;
}

uint8_t wire_take(uint8_t *byte)
{
    if (UART1_FR & UART_FR_RX_EMPTY) {
        return 0;
    }
    uint32_t taken = UART1_DR;
    *byte = (uint8_t)taken;
    return (taken & UART_DR_ERRORS) == 0;
}
