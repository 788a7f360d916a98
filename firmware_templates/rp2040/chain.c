#include "chain.h"

#include "pins.h"
#include "registers.h"
#include "table_checks.h"

/* The clock is divided twice, first by an even number of at most 254 (data sheet, 4.4.4, SSPCPSR and SCR). */
#if SPI_DIVIDER == 2
#define FIRST_DIVIDER 2u
#define SECOND_DIVIDER 1u
#else
#define FIRST_DIVIDER (SPI_DIVIDER / 2u)
#define SECOND_DIVIDER 2u
#endif

/* Load (GP17) rests high; data in (GP16) keeps its pull-up; the port's own data out and select go to no pin. */
void chain_begin(void)
{
    SPI0_CR1 = 0;
    SPI0_CPSR = FIRST_DIVIDER;
    SPI0_CR0 = SPI_CR0_8_BITS | SPI_CR0_CLOCK_HIGH | SPI_CR0_DIVIDER(SECOND_DIVIDER);
    SPI0_CR1 = SPI_CR1_ENABLE;
    SIO_GPIO_OUT_SET = 1u << PIN_CHAIN_LOAD;
    SIO_GPIO_OE_SET = 1u << PIN_CHAIN_LOAD;
    IO_GPIO_CTRL(PIN_CHAIN_DATA) = FUNCTION_SPI;
    IO_GPIO_CTRL(PIN_CHAIN_CLOCK) = FUNCTION_SPI;
}
