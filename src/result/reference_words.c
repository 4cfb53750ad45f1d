#include "reference_words.h"

#include <stddef.h>
#include <string.h>

static const struct {
    const char *name, *to;
} words[] = {
    [VISION_REFERENCE_CARD] = {"card", ""},
    [VISION_REFERENCE_EDGE] = {"edge", " to the edge pointed at"},
    [VISION_REFERENCE_LINK] = {"link", " to the link"},
    [VISION_REFERENCE_POINTS] = {"points", " to the line of the two points"},
};

const char *reference_to(enum vision_reference_kind reference)
{
    return words[reference].to;
}

const char *reference_name(enum vision_reference_kind reference)
{
    return words[reference].name;
}

enum vision_reference_kind reference_by_name(const char *name)
{
    for (size_t i = 0; name && i < sizeof words / sizeof words[0]; i++)
        if (strcmp(words[i].name, name) == 0)
            return (enum vision_reference_kind)i;
    return VISION_REFERENCE_CARD;
}
