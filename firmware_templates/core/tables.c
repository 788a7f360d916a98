/* The one place where the generated tables take up room. */
#define CONSOLE_TABLE_BODY
#include "console_table.h"
