/* The registers of the RP2040 that the board's files use, and no others.
 *
 * Addresses and bits: RP2040 data sheet (Raspberry Pi Ltd), address map in chapter 2.2, then the section named beside
 * each block.  Written by hand, so that no vendor library is needed to compile what scans the console.
 */
#ifndef REGISTERS_H
#define REGISTERS_H

#include <stdint.h>

#define REGISTER(address) (*(volatile uint32_t *)(uintptr_t)(address))

/* The same register through the address at which writing a 1 clears, or sets, a bit and a 0 leaves it (section 2.1.2,
 * atomic register access). */
#define REGISTER_SET(address) REGISTER((address) + 0x2000u)
#define REGISTER_CLEAR(address) REGISTER((address) + 0x3000u)

/* Pins, read and driven in a single cycle (section 2.3.1, SIO). */
#define SIO_GPIO_IN REGISTER(0xD0000004u)
#define SIO_GPIO_OUT_SET REGISTER(0xD0000014u)
#define SIO_GPIO_OUT_CLR REGISTER(0xD0000018u)
#define SIO_GPIO_OE_SET REGISTER(0xD0000024u)
#define SIO_GPIO_OE_CLR REGISTER(0xD0000028u)
#define SIO_INTERP1_BASE2 REGISTER(0xD00000D0u)

/* Blocks that start in reset (section 2.14, subsystem resets). */
#define RESETS_RESET 0x4000C000u
#define RESETS_RESET_DONE REGISTER(0x4000C008u)
#define RESET_ADC (1u << 0)
#define RESET_I2C1 (1u << 4)
#define RESET_IO_BANK0 (1u << 5)
#define RESET_PADS_BANK0 (1u << 8)
#define RESET_SPI0 (1u << 16)
#define RESET_TIMER (1u << 21)
#define RESET_UART1 (1u << 23)

/* What the watchdog resets (section 2.13, power-on state machine). */
#define PSM_WDSEL REGISTER(0x40010008u)
#define PSM_ALL_BUT_OSCILLATORS 0x1FFFCu

/* What a pin is connected to (section 2.19.6.1, IO user bank). */
#define IO_GPIO_CTRL(pin) REGISTER(0x40014004u + 8u * (pin))
#define FUNCTION_SPI 1u
#define FUNCTION_UART 2u
#define FUNCTION_I2C 3u
#define FUNCTION_SIO 5u
#define FUNCTION_NONE 31u

/* How a pin behaves electrically (section 2.19.6.3, pad control, user bank). */
#define PADS_GPIO(pin) REGISTER(0x4001C004u + 4u * (pin))
#define PAD_SCHMITT (1u << 1)
#define PAD_PULL_UP (1u << 3)
#define PAD_DRIVE_4_MA (1u << 4)
#define PAD_DRIVE_12_MA (3u << 4)
#define PAD_INPUT (1u << 6)
#define PAD_OUTPUT_DISABLE (1u << 7)

/* Serial port 1, a PL011 (section 4.2.8, UART). */
#define UART1_DR REGISTER(0x40038000u)
#define UART1_FR REGISTER(0x40038018u)
#define UART1_IBRD REGISTER(0x40038024u)
#define UART1_FBRD REGISTER(0x40038028u)
#define UART1_LCR_H REGISTER(0x4003802Cu)
#define UART1_CR REGISTER(0x40038030u)
#define UART_DR_ERRORS 0xF00u /* overrun, break, parity and framing, with the byte that they belong to */
#define UART_FR_BUSY (1u << 3)
#define UART_FR_RX_EMPTY (1u << 4)
#define UART_LCR_FIFOS (1u << 4)
#define UART_LCR_8_BITS (3u << 5)
#define UART_CR_ENABLE (1u << 0)
#define UART_CR_TRANSMIT (1u << 8)
#define UART_CR_RECEIVE (1u << 9)

/* Synchronous serial port 0, a PL022 (section 4.4.4, SPI). */
#define SPI0_CR0 REGISTER(0x4003C000u)
#define SPI0_CR1 REGISTER(0x4003C004u)
#define SPI0_DR REGISTER(0x4003C008u)
#define SPI0_SR REGISTER(0x4003C00Cu)
#define SPI0_CPSR REGISTER(0x4003C010u)
#define SPI_CR0_8_BITS 7u
#define SPI_CR0_CLOCK_HIGH (1u << 6) /* SPO: the clock rests high */
#define SPI_CR0_DIVIDER(divider) (((divider) - 1u) << 8) /* SCR */
#define SPI_CR1_ENABLE (1u << 1)
#define SPI_SR_RECEIVED (1u << 2)
#define SPI_SR_BUSY (1u << 4)

/* Converter (section 4.9.6, ADC). */
#define ADC_CS REGISTER(0x4004C000u)
#define ADC_RESULT REGISTER(0x4004C004u)
#define ADC_CS_ENABLE (1u << 0)
#define ADC_CS_START_ONE (1u << 2)
#define ADC_CS_READY (1u << 8)
#define ADC_CS_CHANNEL(channel) ((uint32_t)(channel) << 12)

/* Two-wire bus 1, a DW_apb_i2c (section 4.3.17, I2C). */
#define I2C1_CON REGISTER(0x40048000u)
#define I2C1_TAR REGISTER(0x40048004u)
#define I2C1_DATA_CMD REGISTER(0x40048010u)
#define I2C1_FS_SCL_HCNT REGISTER(0x4004801Cu)
#define I2C1_FS_SCL_LCNT REGISTER(0x40048020u)
#define I2C1_RAW_INTR_STAT REGISTER(0x40048034u)
#define I2C1_CLR_TX_ABRT REGISTER(0x40048054u)
#define I2C1_ENABLE REGISTER(0x4004806Cu)
#define I2C1_STATUS REGISTER(0x40048070u)
#define I2C1_RXFLR REGISTER(0x40048078u)
#define I2C1_SDA_HOLD REGISTER(0x4004807Cu)
#define I2C1_FS_SPKLEN REGISTER(0x400480A0u)
#define I2C_CON_MASTER (1u << 0)
#define I2C_CON_FAST (2u << 1)
#define I2C_CON_RESTARTS (1u << 5)
#define I2C_CON_NO_SLAVE (1u << 6)
#define I2C_CMD_READ (1u << 8)
#define I2C_CMD_STOP (1u << 9)
#define I2C_CMD_RESTART (1u << 10)
#define I2C_INTR_ABORTED (1u << 6)
#define I2C_ENABLE_ON (1u << 0)
#define I2C_ENABLE_ABORT (1u << 1)
#define I2C_STATUS_EMPTY (1u << 2) /* nothing is left to send */
#define I2C_STATUS_MASTER (1u << 5) /* the bus is ours and not yet given up */

/* Microseconds since the start, the low word (section 4.6.5, timer). */
#define TIMER_RAW_LOW REGISTER(0x40054028u)

/* Watchdog (section 4.7.6). */
#define WATCHDOG_CTRL 0x40058000u
#define WATCHDOG_LOAD REGISTER(0x40058004u)
#define WATCHDOG_REASON REGISTER(0x40058008u)
#define WATCHDOG_SCRATCH0 REGISTER(0x4005800Cu)
#define WATCHDOG_CTRL_ENABLE (1u << 30)
#define WATCHDOG_REASON_TIMER (1u << 0)



/* What reset the chip last (section 2.10.9, regulator and chip-level reset). */
#define CHIP_RESET REGISTER(0x40064008u)
#define CHIP_RESET_HAD_POWER_ON (1u << 8) /* or a brown-out: the chip does not tell the two apart */
#define CHIP_RESET_HAD_RUN (1u << 16)
#define CHIP_RESET_HAD_DEBUGGER (1u << 20)

#endif
