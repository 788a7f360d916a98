/* The chain's serial port: set up once. */
#ifndef CHAIN_H
#define CHAIN_H

void chain_begin(void);

#endif
