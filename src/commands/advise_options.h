/* The command line of "armsquare advise", understood but not yet put together. */
#ifndef ADVISE_OPTIONS_H
#define ADVISE_OPTIONS_H

#include "arithmetic/quantity.h"
#include "measure/measure_options.h"

#include <stdbool.h>

/* Quantities: see quantity.h; u 0 stands for "not said". Texts are borrowed from argv. */
struct advise_options {
    const char *photo;                  /* NULL: none */
    struct measure_words_given measure; /* how to read the photo */
    const char *arms, *use, *turn_over; /* as typed; NULL: not given */
    int teeth;
    struct quantity deviation, target, scale, deg_per_us, us_per_percent;
    bool have_deviation, have_target, have_scale, have_deg_per_us, have_us_per_percent;
    double u_deg; /* NAN: not given */
    double tolerance_deg, step_percent, limit_percent;
    bool have_trim_words; /* one of the last two was given */
    bool all, json;
};

/* EXIT_DONE, or what fail_usage() returned, or -1 when the help was asked for. */
int advise_options_parse(int argc, char **argv, struct advise_options *out);

#endif
