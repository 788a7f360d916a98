#include "matrix.h"

#include "port.h"

/* A row that is always driven goes low for its reading; one that floats is joined to low. */
static inline __attribute__((always_inline)) void row_take(uint8_t drive, uint8_t port, uint8_t mask)
{
    if (drive == DRIVE_PUSH_PULL) {
        port_output_put(port, mask, 0);
    } else {
        port_row_drive(port, mask);
    }
}

static inline __attribute__((always_inline)) void row_give_up(uint8_t drive, uint8_t port, uint8_t mask)
{
    if (drive == DRIVE_PUSH_PULL) {
        port_output_put(port, mask, 1);
    } else {
        port_row_release(port, mask);
    }
}

/* To be called while no row is low: a held key would join it to the columns that are driven. */
static void columns_charge(const struct matrix *matrix)
{
    uint8_t charge_us = flash_read_byte(&matrix->precharge_us);
    if (charge_us != 0) {
        uint8_t port = flash_read_byte(&matrix->column_port);
        uint8_t mask = flash_read_byte(&matrix->column_mask);
        port_columns_drive(port, mask);
        port_wait_us(charge_us);
        port_columns_release(port, mask);
    }
}

uint8_t matrix_read_row(const struct matrix *matrix, uint8_t row)
{
    uint8_t drive = flash_read_byte(&matrix->drive);
    uint8_t port = flash_read_byte(&matrix->row_port[row]);
    uint8_t mask = flash_read_byte(&matrix->row_mask[row]);
    row_take(drive, port, mask);
    port_wait_us(flash_read_byte(&matrix->settle_us));
    uint8_t raw = port_read(flash_read_byte(&matrix->column_port));
    row_give_up(drive, port, mask);
    columns_charge(matrix);
    return raw;
}
