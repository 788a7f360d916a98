#include "host_store.h"

#include <assert.h>
#include <string.h>

#include "port.h"

uint8_t host_store[HOST_STORE_SIZE];
uint32_t host_store_wear[HOST_STORE_SIZE];
uint32_t host_store_writes;
uint32_t host_store_commits;
uint32_t host_store_polls;
uint32_t host_store_fails_after;

static uint32_t busy; /* polls until a write is over */

void host_store_begin(void)
{
    memset(host_store, 0xFF, sizeof host_store);
    memset(host_store_wear, 0, sizeof host_store_wear);
    host_store_writes = 0;
    host_store_commits = 0;
    host_store_fails_after = HOST_STORE_NEVER;
    host_store_polls = 3;
    busy = 0;
}

uint8_t port_store_is_ready(void)
{
    if (busy == 0) {
        return 1;
    }
    busy--;
    return 0;
}

uint8_t port_store_read(uint16_t at)
{
    assert(busy == 0 && at < HOST_STORE_SIZE);
    return host_store[at];
}

void port_store_write(uint16_t at, uint8_t byte)
{
    assert(busy == 0 && at < HOST_STORE_SIZE);
    host_store_writes++;
    host_store_wear[at]++;
    busy = host_store_polls;
    if (host_store_fails_after == 0) {
        return;
    }
    if (host_store_fails_after != HOST_STORE_NEVER) {
        host_store_fails_after--;
    }
    host_store[at] = byte;
}

void port_store_commit(void)
{
    host_store_commits++;
}
