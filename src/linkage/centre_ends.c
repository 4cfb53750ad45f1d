#include "centre_ends.h"

#include "arithmetic/plus_minus.h"
#include "result/order.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const words[] = {[CENTRE_ENDS_SERVO] = "servo", [CENTRE_ENDS_STOPS] = "stops"};

bool centre_ends_parse(const char *word, enum centre_ends *out)
{
    for (int i = CENTRE_ENDS_SERVO; i <= CENTRE_ENDS_STOPS; i++)
        if (strcmp(word, words[i]) == 0) {
            *out = (enum centre_ends)i;
            return true;
        }
    return false;
}

const char *centre_ends_word(enum centre_ends ends)
{
    return words[ends];
}

void centre_ends_say(enum centre_ends ends, struct quantity offset, const char *binds, char *text,
                     size_t size)
{
    /* with throws a and -b from neutral the middle lies (a - b) / 2 from it */
    const struct quantity unequal = {2 * fabs(offset.value), 2 * offset.u};
    char amount[PLUS_MINUS_WORDS];
    text[0] = '\0';
    if (ends == CENTRE_ENDS_STOPS)
        return;
    if (binds) /* the middle of a jam is no middle */
        snprintf(text, size,
                 "first free the part on the way to the %s end, or lower that end point as below; "
                 "then measure all three again. Leave the link until then.",
                 binds);
    else if (ends == CENTRE_ENDS_SERVO)
        snprintf(text, size,
                 "leave the link: it moves both ends along with neutral. The %s throw is %s too "
                 "large: set the end points below. If it has to be equal without them, look for a "
                 "horn or an arm that is not square at neutral (\"armsquare linkage solve\").",
                 order_cure(offset.value), plus_minus_angle(unequal, amount));
    else
        snprintf(
            text, size,
            CENTRE_FIND_OUT
            "If it goes further than the servo moved it, the servo makes the ends: "
            "say --ends servo. If not, they are stops of its own: say --ends stops. If only at "
            "one end, the other is a stop: free it or lower its end point, and measure "
            "again.");
}
