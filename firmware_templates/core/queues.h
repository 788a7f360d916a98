/* How full the queues of waiting changes have been. */
#ifndef QUEUES_H
#define QUEUES_H

#include <stdint.h>

void queues_begin(void);

/* Behind each scan, before the wire gets anything: then they are fullest. */
void queues_look(void);

/* Most entries that a queue, by enum duty, has held. */
uint8_t queue_most(uint8_t duty);

#endif
