/* Starts the firmware without any library: vectors, memory, then the board for ever.
 *
 * The clocks are those that the emulator starts with, 125 MHz; on a real board the library sets them up before.
 */
#include <stdint.h>

#include "board.h"

extern uint32_t data_start[], data_end[], bss_start[], bss_end[];
extern const uint32_t data_image[];
extern uint8_t __StackTop[];

typedef void (*routine)(void);
extern const routine constructors_start[], constructors_end[];

void start(void);

void start(void)
{
    const uint32_t *from = data_image;
    for (uint32_t *to = data_start; to != data_end; to++) {
        *to = *from++;
    }
    for (uint32_t *to = bss_start; to != bss_end; to++) {
        *to = 0;
    }
    for (const routine *each = constructors_start; each != constructors_end; each++) {
        (*each)();
    }
    board_setup();
    for (;;) {
        board_loop();
    }
}

/* Nothing here uses an interrupt: all other vectors end in a breakpoint, which the emulator reports. */
static void unexpected(void)
{
    __asm__ volatile("bkpt #1");
}

#define UNEXPECTED_4 unexpected, unexpected, unexpected, unexpected

__attribute__((section(".vectors"), used)) static const routine vectors[16] = {
    (routine)(uintptr_t)__StackTop, start, unexpected, unexpected, UNEXPECTED_4, UNEXPECTED_4, UNEXPECTED_4,
};
