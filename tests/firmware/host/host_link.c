#include "host_link.h"

#include <assert.h>

#include "port.h"

/* Bytes on their way one way. */
struct pipe {
    uint8_t bytes[HOST_LINK];
    uint32_t put;
    uint32_t taken;
};

static struct pipe to_board;
static struct pipe from_board;
uint32_t host_link_stuck;

static uint32_t waiting(const struct pipe *pipe)
{
    return pipe->put - pipe->taken;
}

static void put(struct pipe *pipe, uint8_t byte)
{
    assert(waiting(pipe) < HOST_LINK);
    pipe->bytes[pipe->put++ % HOST_LINK] = byte;
}

static uint8_t take(struct pipe *pipe)
{
    return pipe->bytes[pipe->taken++ % HOST_LINK];
}

void host_link_begin(void)
{
    to_board.taken = to_board.put;
    from_board.taken = from_board.put;
    host_link_stuck = 0;
}

uint32_t host_link_give(const uint8_t *bytes, uint32_t count)
{
    uint32_t given = 0;
    for (; given < count && waiting(&to_board) < HOST_LINK; given++) {
        put(&to_board, bytes[given]);
    }
    return given;
}

uint32_t host_link_take(uint8_t *bytes, uint32_t most)
{
    uint32_t taken = 0;
    for (; taken < most && waiting(&from_board) != 0; taken++) {
        bytes[taken] = take(&from_board);
    }
    return taken;
}

uint32_t host_link_waiting(void)
{
    return waiting(&to_board);
}

uint8_t port_link_take(uint8_t *byte)
{
    if (waiting(&to_board) == 0) {
        return 0;
    }
    *byte = take(&to_board);
    return 1;
}

uint8_t port_link_room(void)
{
    uint32_t room = HOST_LINK - waiting(&from_board);
    return (uint8_t)(host_link_stuck ? 0u : room > 2 ? 2u : room); /* as much as a transmitter of two registers has */
}

void port_link_send(uint8_t byte)
{
    assert(port_link_room() != 0);
    put(&from_board, byte);
}
