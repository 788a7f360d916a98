/* One slot of a ring: contacts of one lane, and a byte to remember with them. */
#ifndef SLOT_H
#define SLOT_H

#include <stdint.h>

struct slot {
    uint8_t mask; /* contacts of the lane; 0 in a free slot */
    uint8_t value;
    uint8_t lane;
};

#endif
