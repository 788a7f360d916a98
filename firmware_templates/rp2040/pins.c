#include "pins.h"

#include "converter.h"
#include "registers.h"
#include "table_checks.h"

#define PAD_CONTACT (PAD_INPUT | PAD_SCHMITT | PAD_PULL_UP | PAD_DRIVE_4_MA)
#define PAD_ROW (PAD_INPUT | PAD_SCHMITT | PAD_DRIVE_4_MA)
#define PAD_CONVERTER PAD_OUTPUT_DISABLE /* no pull-up, which would bend the reading, and no digital input */
/* On this board they go to the power supply and the USB socket, and are left as they are. */
#define PINS_OF_THE_BOARD (1u << 23 | 1u << 24 | 1u << 29)

static void pin_connect(uint32_t pin, uint32_t function, uint32_t pad)
{
    PADS_GPIO(pin) = pad;
    IO_GPIO_CTRL(pin) = function;
}

static void pins_pull_up(void)
{
    for (uint32_t pin = 0; pin != PIN_COUNT; pin++) {
        if (!(PINS_OF_THE_BOARD & 1u << pin)) {
            SIO_GPIO_OE_CLR = 1u << pin;
            SIO_GPIO_OUT_CLR = 1u << pin;
            pin_connect(pin, FUNCTION_SIO, PAD_CONTACT);
        }
    }
}

static void pads_set(uint32_t pins, uint32_t pad)
{
    for (uint32_t pin = 0; pin != PIN_COUNT; pin++) {
        if (pins & 1u << pin) {
            PADS_GPIO(pin) = pad;
        }
    }
}

/* Rows float while they are not read, neither output nor pull-up, or they are driven high for good. */
static void pins_begin_rows(const struct matrix *matrix)
{
    for (uint8_t row = 0; row != matrix->row_count; row++) {
        uint32_t pin = pins_of(matrix->row_port[row], matrix->row_mask[row]);
        pads_set(pin, PAD_ROW);
        if (matrix->drive == DRIVE_PUSH_PULL) {
            SIO_GPIO_OUT_SET = pin;
            SIO_GPIO_OE_SET = pin;
        }
    }
}

/* Select lines are driven; that they are also listed by other banks does no harm. */
static void pins_drive_select(const struct bank *bank)
{
    for (uint8_t line = 0; line != bank->select_count; line++) {
        SIO_GPIO_OE_SET = pins_of(bank->select_port[line], bank->select_mask[line]);
    }
}

#if LISTEN_PORTS != 0
#error "This board does not listen to a keyboard that the organ scans: choose an ATmega2560 for it."
#endif

static void pins_of_table(void)
{
    for (uint8_t i = 0; i != MATRIX_COUNT; i++) {
        pins_begin_rows(&matrix_table[i]);
    }
    for (uint8_t i = 0; i != BANK_COUNT; i++) {
        pins_drive_select(&bank_table[i]);
    }
    for (uint8_t i = 0; i != SHOE_COUNT; i++) {
        if (converter_reads(i)) {
            pin_connect(PIN_FIRST_CONVERTER + shoe_table[i].converter, FUNCTION_NONE, PAD_CONVERTER);
        }
    }
}

void pins_begin(void)
{
    pins_pull_up();
    pins_of_table();
}
