/* The board: its pins, its clock, its main loop. */
#ifndef BOARD_H
#define BOARD_H

#ifdef __cplusplus
extern "C" {
#endif

/* Defines every pin, then starts the console. */
void board_setup(void);

/* Waits for the next tick and does its work; to be called for ever. */
void board_loop(void);

#ifdef __cplusplus
}
#endif

#endif
