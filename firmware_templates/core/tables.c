/* The one place where the generated tables take up room. */
#define CONSOLE_TABLE_BODY
#include "table_checks.h" /* brings console_table.h */

#include "link_about.h"

/* Flash is read with 16-bit addresses, and the code that goes with the tables wants some room too. */
TABLE_CHECK(tables_are_more_than_60000_bytes,
            sizeof run_table + sizeof group_table + sizeof lane_table + sizeof message_table + sizeof matrix_table +
                    sizeof bank_table + sizeof expander_table + sizeof listen_table + sizeof shoe_table +
                    sizeof stage_table + sizeof ladder_table + sizeof channel_table + sizeof job_name +
                    sizeof job_digest + sizeof job_revision + sizeof job_description <=
                60000u);

#if LINK

/* By enum link_text, without the zero at the end. */
const uint16_t link_text_sizes[] TABLE_IN_FLASH = {
    sizeof job_name - 1,
    sizeof job_digest - 1,
    sizeof job_revision - 1,
};

#endif
