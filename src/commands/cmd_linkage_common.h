/* What the modes of "armsquare linkage" share. */
#ifndef CMD_LINKAGE_COMMON_H
#define CMD_LINKAGE_COMMON_H

#include "arithmetic/decision.h"
#include "linkage/linkage_angle.h"
#include "linkage/linkage_cure.h"
#include "linkage/linkage_dial.h"
#include "linkage/linkage_option.h"
#include "linkage/linkage_words.h"

#include <jansson.h>

/* The options about the arm's own link, and what they were. */
struct link_words {
    struct linkage_arm arm;
    const char *longer; /* "ccw", "cw" or NULL */
};
struct link_words link_words_default(void);
/* Ends of which nothing is known yet. */
struct thread_ends link_ends_default(void);

/* The threads of a link and how its ends are turned. */
#define LINK_END_OPTIONS(ends)                                                                     \
    {"thread", OPTION_THREAD, QUANTITY_LENGTH, &(ends)->pitch_mm},                                 \
        {"far-thread", OPTION_THREAD, QUANTITY_LENGTH, &(ends)->other_mm},                         \
        {"fits-every", OPTION_STEP, QUANTITY_NUMBER, &(ends)->step_turns},                         \
    {                                                                                              \
        "turnbuckle", OPTION_FLAG, QUANTITY_NUMBER, &(ends)->turnbuckle                            \
    }

/* The same, and the arm that the link turns. */
#define LINK_OPTIONS(words)                                                                        \
    LINK_END_OPTIONS(&(words)->arm.ends),                                                          \
        {"arm", OPTION_POSITIVE, QUANTITY_LENGTH, &(words)->arm.arm_mm},                           \
        {"link-angle", OPTION_POSITIVE, QUANTITY_ANGLE, &(words)->arm.arm_to_link_deg},            \
        {"link", OPTION_POSITIVE, QUANTITY_LENGTH, &(words)->arm.link_mm},                         \
    {                                                                                              \
        "longer", OPTION_TEXT, QUANTITY_NUMBER, &(words)->longer                                   \
    }

#define LINK_HELP                                                                                  \
    "      --arm L           arm of the part, axis to ball, mm\n"                                  \
    "      --thread T        of the link end: M2, \"M3 fine\", M3x0.35, \"0.45 mm\", \"56 tpi\"\n" \
    "      --far-thread T    of the far end, when it may be turned as well\n"                      \
    "      --fits-every S    \"half turn\" (usual), \"whole turn\", \"1/6 turn\", any\n"           \
    "      --turnbuckle      left and right hand thread: a turn moves twice the pitch\n"           \
    "      --link-angle A    between arm and link where the arm is wanted (90): less where the\n"  \
    "                        arm leans towards the link's other end, more where away from it;\n"   \
    "                        other than 90 with --longer\n"                                        \
    "      --link L          link as it is now, between ball centres, mm: away from 90 the "       \
    "turns\n"                                                                                      \
    "                        depend on it; without it 1.5 arm lengths and more are allowed for\n"  \
    "      --longer ccw|cw   which way a longer link turns the arm, as seen in the photo\n"

/* The options about photos. */
#define PHOTO_OPTIONS(photos)                                                                      \
    {"bars", OPTION_PHOTO, QUANTITY_NUMBER, &(photos)->given},                                     \
        {"focal", OPTION_PHOTO, QUANTITY_NUMBER, &(photos)->given},                                \
        {"tilt", OPTION_PHOTO, QUANTITY_NUMBER, &(photos)->given},                                 \
    {                                                                                              \
        "lens", OPTION_PHOTO, QUANTITY_NUMBER, &(photos)->given                                    \
    }

#define PHOTO_HELP                                                                                 \
    "\n"                                                                                           \
    "A photo is crank.jpg, both.jpg:B for another arm than the one taken, or both.jpg:X,Y,X,Y\n"   \
    "for the arm pointed at, hub first, in pixels from the photo's top left corner.\n"             \
    "\n"                                                                                           \
    "for angles from photos, as for \"armsquare measure\":\n" MEASURE_CAMERA_HELP

/* EXIT_DONE, or EXIT_USAGE for threads that no link has together, the message being out. */
int check_link_ends(const struct thread_ends *ends);
/* Completes words->arm from its texts. EXIT_DONE or EXIT_USAGE, the message being out. */
int link_words_finish(struct link_words *words);

/* Prints the JSON and drops it; EXIT_DONE or EXIT_TROUBLE. */
int answer_json(json_t *json);

/* Reads n values as angles (numbers or photos), asked as in linkage_angle_read(). Exit status. */
int read_angles(const struct linkage_option_list *values, int n, const char *usage,
                const struct verdict_asked *asked, struct linkage_photos *photos,
                struct quantity *out);

/* What to do first about numbers that came without an uncertainty. */
#define LINKAGE_BARE                                                                               \
    "change nothing yet: write behind each number how well it is known, such as 91.3u0.2, or "     \
    "give "                                                                                        \
    "photos."
#define LINKAGE_BARE_WORDS 160 /* room for that and a few words */

/* A deviation judged: what was found and what to do, ready to print, draw or keep. Where a photo
 * was unsure nothing is decided: the decision is "cannot tell" and there is no cure. Nor is
 * anything by a number without its uncertainty; a cure is then what it would be if the number were
 * right. */
struct deviation {
    struct quantity off;
    double tolerance_deg;
    enum decision decision;
    bool cured; /* the arm is known: cure and its words are filled */
    struct linkage_cure cure;
    const struct linkage_photos *photos; /* borrowed */
    char finding[240]; /* "Arm: 1.8 ± 0.4 degrees counter-clockwise as seen in the photo: ..." */
    char action[LINKAGE_SENTENCE_SIZE];
};

/* photos: those behind off, kept by the caller. words may be NULL: nothing is known about a link.
 */
struct deviation judge_deviation(const char *what, struct quantity off, double tolerance_deg,
                                 const struct linkage_photos *photos,
                                 const struct link_words *words);
/* What was found alone, of which arms, and which photos were unsure. */
void print_finding(const struct deviation *deviation);
void print_deviation(const struct deviation *deviation);
void add_deviation(json_t *object, const struct deviation *deviation);
/* The whole answer of a mode that judges one deviation. Exit status. */
int answer_deviation(const struct deviation *deviation, bool json);

/* ---- Drawing a station ---- */

#define DRAWING_DPI 200.0 /* of a PNG: sharp on a phone */

/* A drawing asked for with -o. Exit status, the message being out. */
int write_drawing(const char *path, const struct drawing *drawing, double dpi);
/* Likewise; path NULL: none, and then nothing is laid out either, as the first font takes longer to
 * find than an answer. */
int check_drawing(const char *path);
int write_dial(const char *path, const struct linkage_dial *dial);

/* A label such as "neutral 91.2 deg". */
void dial_add(struct linkage_dial *dial, const char *what, double deg, struct plot_colour colour,
              bool wanted);
/* The arrow at rays[ray] and the two sentences of the deviation. */
void dial_deviation(struct linkage_dial *dial, int ray, const struct deviation *deviation);

#endif
