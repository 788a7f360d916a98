/* The non-volatile store: the chip's own EEPROM (data sheet, EEPROM read and write procedures). */
#ifndef EEPROM_STORE_H
#define EEPROM_STORE_H

#include <avr/interrupt.h>
#include <avr/io.h>
#include <stdint.h>

/* A part of the EEPROM, which is read through at each start. */
#define PORT_STORE_SIZE 512u

/* 0 for the 3.4 ms that a write takes. */
static inline uint8_t port_store_is_ready(void)
{
    return !(EECR & _BV(EEPE));
}

/* Only while the store is ready: during a write the memory cannot be read.  Halts the processor for four cycles. */
static inline uint8_t port_store_read(uint16_t at)
{
    EEAR = at;
    EECR |= _BV(EERE);
    return EEDR;
}

/* Starts a write and returns; only while the store is ready.  The second bit must follow the first within four
 * cycles. */
static inline void port_store_write(uint16_t at, uint8_t byte)
{
    EEAR = at;
    EEDR = byte;
    uint8_t interrupts = SREG;
    cli();
    EECR |= _BV(EEMPE);
    EECR |= _BV(EEPE);
    SREG = interrupts;
}

/* Bytes are written one by one here. */
static inline void port_store_commit(void)
{
}

/* Once, at the start: a write that a reset has not stopped is waited for. */
static inline void store_begin(void)
{
    while (!port_store_is_ready()) {
    }
}

#endif
