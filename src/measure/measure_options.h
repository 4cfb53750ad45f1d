/* How a photo is to be measured, as words on the command line. */
#ifndef MEASURE_OPTIONS_H
#define MEASURE_OPTIONS_H

#include "lens/lens_profile.h"
#include "vision.h"

#include <getopt.h>

/* Values of getopt_long for the options below; above any character. */
enum measure_option {
    MEASURE_REFERENCE = 1000, /* --reference */
    MEASURE_HINT,             /* --hint */
    MEASURE_ARM,              /* --arm */
    MEASURE_BARS,             /* --bars */
    MEASURE_FOCAL,            /* --focal */
    MEASURE_TILT,             /* --tilt */
    MEASURE_LENS,             /* --lens */
};

/* Entries for a getopt_long table, and the lines of a help text that explain them; those about the
 * camera and the card alone also stand by themselves. */
#define MEASURE_LONG_OPTIONS                                                                       \
    {"reference", required_argument, NULL, MEASURE_REFERENCE},                                     \
        {"hint", required_argument, NULL, MEASURE_HINT},                                           \
        {"arm", required_argument, NULL, MEASURE_ARM},                                             \
        {"bars", required_argument, NULL, MEASURE_BARS},                                           \
        {"focal", required_argument, NULL, MEASURE_FOCAL},                                         \
        {"tilt", required_argument, NULL, MEASURE_TILT},                                           \
    {                                                                                              \
        "lens", required_argument, NULL, MEASURE_LENS                                              \
    }
extern const char measure_options_help[];
#define MEASURE_CAMERA_HELP                                                                        \
    "      --bars X,Y        lengths of the two printed bars of 100 mm, as calipers tell them\n"   \
    "      --focal PX        focal length of the camera in pixels\n"                               \
    "      --tilt DEG        how far the card may lean against the arm (default 0.4)\n"            \
    "      --lens FILE       lens profile of the camera, or none to do without (default: the\n"    \
    "                        one that \"armsquare lens\" keeps for this camera)\n"

enum measure_lens {
    MEASURE_LENS_MATCHING, /* the person's own profile that matches the photo */
    MEASURE_LENS_NONE,
    MEASURE_LENS_GIVEN, /* profile */
};

struct measure_words_given {
    struct vision_options options;
    bool have_hint;
    bool carried; /* the points are looked up in the first photo alone, and places of the card */
    struct vision_plane seen_in; /* that photo's; all zeros before it is measured */
    bool stickers;               /* vision_measure_stickers in place of vision_measure */
    enum measure_lens lens;
    struct lens_profile profile;
};

/* "X,Y,X,Y", two points in photo pixels. */
bool measure_points_parse(const char *word, struct vision_point out[2]);

struct measure_words_given measure_options_start(void);
/* The option of that name, without its dashes; -1 when it is none of these. */
int measure_options_named(const char *name);
/* Takes one option and its word. EXIT_DONE, or what fail_usage() or, of a lens profile that cannot
 * be used, fail_unusable() returned. */
int measure_options_take(struct measure_words_given *given, int option, const char *word);
/* What to say of these options where no photo is given. EXIT_USAGE. */
int measure_options_idle(void);
/* Do the options go together? EXIT_DONE, or what fail_usage() returned. */
int measure_options_check(const struct measure_words_given *given);
/* Are there points, which are pixels of one photo? */
bool measure_options_point(const struct measure_words_given *given);
/* What to say of them where several photos are not of one card that lay still. EXIT_USAGE. */
int measure_options_of_one_photo(void);

#endif
