#ifndef SERIAL_H
#define SERIAL_H

#include "ring.h"

/* What has come over the wire, and what is still to go. */
extern Ring received;
extern Ring to_send;

/* A board's own: sends as much as there is room for now. */
void send_on(void);

#endif
