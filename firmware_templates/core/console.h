/* The whole console: what the board calls. */
#ifndef CONSOLE_H
#define CONSOLE_H

/* Puts everything into its state at power-on; the board's pins are defined before. */
void console_begin(void);

/* The work of one tick. */
void console_tick(void);

/* What is done again and again between two ticks. */
void console_idle(void);

#endif
