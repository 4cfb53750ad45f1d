/* What the station modes of "armsquare linkage" share. */
#ifndef CMD_LINKAGE_COMMON_H
#define CMD_LINKAGE_COMMON_H

#include "linkage_cure.h"
#include "linkage_option.h"

#include <jansson.h>

/* The options about the arm's own link, and what they were. */
struct link_words {
    struct linkage_arm arm;
    const char *longer; /* "ccw", "cw" or NULL */
};
struct link_words link_words_default(void);

#define LINK_OPTIONS(words)                                                                        \
    {"arm", OPTION_POSITIVE, QUANTITY_LENGTH, &(words)->arm.arm_mm},                               \
        {"link-angle", OPTION_POSITIVE, QUANTITY_ANGLE, &(words)->arm.arm_to_link_deg},            \
        {"thread", OPTION_THREAD, QUANTITY_LENGTH, &(words)->arm.ends.pitch_mm},                   \
        {"far-thread", OPTION_THREAD, QUANTITY_LENGTH, &(words)->arm.ends.other_mm},               \
        {"fits-every", OPTION_STEP, QUANTITY_NUMBER, &(words)->arm.ends.step_turns},               \
        {"turnbuckle", OPTION_FLAG, QUANTITY_NUMBER, &(words)->arm.ends.turnbuckle},               \
    {                                                                                              \
        "longer", OPTION_TEXT, QUANTITY_NUMBER, &(words)->longer                                   \
    }

#define LINK_HELP                                                                                  \
    "      --arm L           arm of the part, axis to ball, mm\n"                                  \
    "      --thread T        of the link end: M2, \"M3 fine\", M3x0.35, \"0.45 mm\", \"56 tpi\"\n" \
    "      --far-thread T    of the far end, when it may be turned as well\n"                      \
    "      --fits-every S    \"half turn\" (usual), \"whole turn\", \"1/6 turn\", any\n"           \
    "      --turnbuckle      left and right hand thread: a turn moves twice the pitch\n"           \
    "      --link-angle A    between arm and link (90)\n"                                          \
    "      --longer ccw|cw   which way a longer link turns the arm, as seen in the photo\n"

/* Completes words->arm from its texts. EXIT_DONE or EXIT_USAGE, the message being out. */
int link_words_finish(struct link_words *words);

/* Prints the JSON and drops it; EXIT_DONE or EXIT_TROUBLE. */
int answer_json(json_t *json);

/* Reads n values as angles (numbers or photos). Exit status. */
int read_angles(const struct linkage_option_list *values, int n, const char *usage,
                struct quantity *out);

/* "+- 0.3" behind a value, nothing when no uncertainty was given. Returns text. */
const char *say_spread(struct quantity quantity, int decimals, char *text, size_t size);

/* The verdict on a deviation and, when an arm is known, what to do about its link. Prints
 * "1.3 +- 0.4 deg counter-clockwise ..." beginning with what; adds to json when that is not NULL.
 */
void answer_deviation(const char *what, struct quantity off, double tolerance_deg,
                      const struct link_words *words, json_t *json);

#endif
