/* The sketch: the console's own facts stand in console_table.h, everything else in the files beside it. */
#include "board.h"

void setup()
{
    board_setup();
}

void loop()
{
    board_loop();
}
