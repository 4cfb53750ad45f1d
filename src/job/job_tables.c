#include "job_tables.h"

#include <stddef.h>
#include <stdio.h>
#include <string.h>

static const struct job_table tables[] = {
    {"model", {"name", "plan_name", "plan_about", "invented", "id"}, "id", 1},
    {"station",
     {"id", "place", "key", "kind", "title", "part", "doing", "target", "tolerance"},
     "id",
     1},
    {"rests_on", {"station_id", "on_id"}, "station_id, on_id", 1},
    {"fact", {"station_id", "name", "value"}, "station_id, name", 1},
    {"entry", {"id", "act", "at", "who", "kind", "station_id", "note", "withdrawn_by"}, "id", 1},
    {"measurement",
     {"entry_id", "value", "u", "coverage", "sure", "method", "message"},
     "entry_id",
     1},
    {"reading", {"entry_id", "place", "role", "value", "u", "record"}, "entry_id, place", 1},
    {"budget", {"entry_id", "place", "term", "u", "type"}, "entry_id, place", 1},
    {"confirmation", {"entry_id", "holds"}, "entry_id", 1},
    {"refit", {"entry_id", "name", "before", "after"}, "entry_id", 1},
    {"replanned", {"entry_id", "before", "after"}, "entry_id", 1},
    {"mark", {"entry_id", "name"}, "entry_id", 2},
    {"photo", {"id", "entry_id", "place", "role", "name", "media", "size", "crc32"}, "id", 1},
};

const struct job_table *job_table_at(int index)
{
    return index >= 0 && (size_t)index < sizeof tables / sizeof *tables ? &tables[index] : NULL;
}

void job_photo_file(char *buffer, long long id, const char *role, const char *media)
{
    const char *suffix = strcmp(media, "image/png") == 0    ? "png"
                         : strcmp(media, "image/jpeg") == 0 ? "jpg"
                                                            : "bin";
    snprintf(buffer, 48, "photos/%05lld-%.9s.%s", id, role, suffix);
}
