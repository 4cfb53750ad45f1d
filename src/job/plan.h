/* Plans: the stations of a set-up, in the order of the work, as data and as a text file.
 *
 * A plan file is UTF-8 text. "#" starts a note that runs to the end of its line when it stands
 * first on it. A plan opens with "plan:" and "about:"; each station then has a heading with its
 * key in brackets and lines "field: words"; an indented line continues the one above it.
 *
 *     plan: Rudder
 *
 *     [rudder-horn]
 *     title: Rudder horn square to the servo case
 *     part: Rudder
 *     kind: square
 *     do: Servo powered, neutral, horn off. Fit the horn as near square as the splines allow.
 *     rests on: servo-directions
 *     tolerance: 0.5
 *     hardware: teeth = 25; arms = 4
 *
 * A station may rest only on stations above it: so the order of the file is an order of work, and
 * no circle can arise. Pure: no files, no printing. */
#ifndef PLAN_H
#define PLAN_H

#include <stdbool.h>
#include <stddef.h>

enum plan_kind {
    PLAN_SQUARE,   /* an arm at a multiple of 90 degrees to its reference */
    PLAN_PARALLEL, /* two arms in line */
    PLAN_LEVEL,    /* a plate or disc against its reference */
    PLAN_CENTRED,  /* neutral in the middle of both ends */
    PLAN_ANGLE,    /* an arm at a wanted angle */
    PLAN_PAIR,     /* two links equally long */
    PLAN_CONFIRM,  /* what no photo can show */
    PLAN_KIND_COUNT
};

/* The word that stands in plan files, "square"; never NULL for a kind in the enum. */
const char *plan_kind_word(enum plan_kind kind);
/* false when there is no such kind; *kind is then unchanged. */
bool plan_kind_by_word(const char *word, enum plan_kind *kind);
/* "deg", "mm" for link pairs, "" for confirmations: the unit of target, tolerance and findings. */
const char *plan_kind_unit(enum plan_kind kind);

/* One fact about the hardware at a station, in words: "teeth" = "25". */
struct plan_fact {
    char *name, *value;
};

struct plan_station {
    char *key; /* a-z 0-9 -, unique in the plan */
    char *title, *part, *doing;
    enum plan_kind kind;
    double target;    /* wanted angle (deg) or difference of lengths (mm); 0 otherwise */
    double tolerance; /* deg or mm, > 0; 0 for PLAN_CONFIRM */
    int *rests_on;    /* indexes of stations above this one, rising */
    int rests_on_count;
    struct plan_fact *facts; /* hardware, in the order of plan_fact_name_at() */
    int fact_count;
};

struct plan {
    char *name, *about;
    struct plan_station *stations;
    int count;
};

/* What is wrong with a plan: a sentence without the full stop, and its line (0: the whole). */
struct plan_trouble {
    int line;
    char text[240];
};

#define PLAN_MAX_STATIONS 1000
#define PLAN_MAX_TEXT 4000 /* bytes of any one field */

/* Reads plan text. out is filled on true and zeroed otherwise, with trouble saying why.
 * Free with plan_clear(). */
bool plan_read(const char *text, struct plan *out, struct plan_trouble *trouble);
/* The same for what plan_write() wrote of a plan with facts as plan_keep_fact() takes them. */
bool plan_read_kept(const char *text, struct plan *out, struct plan_trouble *trouble);
/* A sound plan as text that plan_read_kept() takes back to the same plan, but that facts come in
 * one line; and plan_read(), where all facts are sound. NULL when out of memory; the caller frees
 * it. */
char *plan_write(const struct plan *plan);
/* Whether a plan that was not read from its text keeps the rules of it, but for its facts;
 * trouble says why not. */
bool plan_is_sound(const struct plan *plan, struct plan_trouble *trouble);
/* Puts the stations of more behind those of plan, and its name and what it is about behind its own
 * where there is anything new. A key that both have stays as plan has it and
 * must be of the same kind. false (trouble) on a clash; plan is then unchanged. */
bool plan_append(struct plan *plan, const struct plan *more, struct plan_trouble *trouble);
void plan_clear(struct plan *plan);

/* Index of the station with this key, -1 when there is none. */
int plan_find(const struct plan *plan, const char *key);
/* The value of a fact, NULL when the station has none. */
const char *plan_fact(const struct plan_station *station, const char *name);
/* The value of a numeric fact; otherwise when the station has none, or one out of range. */
double plan_fact_number(const struct plan_station *station, const char *name, double otherwise);
/* Whether name is known and value (NULL: any) fits it, in one line that a plan's text can hold;
 * trouble says why not. */
bool plan_fact_is_sound(const char *name, const char *value, struct plan_trouble *trouble);
/* Sets or replaces a fact. false (trouble) for an unknown name or a value out of range. */
bool plan_set_fact(struct plan_station *station, const char *name, const char *value,
                   struct plan_trouble *trouble);
/* The same for what was recorded before, perhaps when other limits held: any number. A job must
 * open whatever it holds; plan_fact_number() does not answer what is out of range. */
bool plan_keep_fact(struct plan_station *station, const char *name, const char *value,
                    struct plan_trouble *trouble);
/* Text that may stand in a plan, a note or a name: one line of UTF-8, not empty, no control
 * characters, at most PLAN_MAX_TEXT bytes. */
bool plan_text_is_plain(const char *text);
/* Whether two values of a fact are the same: in words, or as numbers. */
bool plan_fact_same_value(const char *a, const char *b);
/* Whether going from before to after ("": not entered) means that something else is fitted now, or
 * sits elsewhere, so that what was measured before no longer holds. Writing down what was not
 * known, or taking an entry away, changes nothing at the model; nor do figures that only advice is
 * made from. But naming the part that is fitted, where none was named, tells of another one: nobody
 * enters one for what came with the model. */
bool plan_fact_is_refit(const char *name, const char *before, const char *after);
/* Whether it tells of what is fitted and where, so that another value means other hardware. */
bool plan_fact_is_fitted(const char *name);
/* Whether another value may mean another servo, where a servo's horn is measured (plan_is_servo).
 */
bool plan_fact_is_servo(const char *name);

/* Whether a station rests on that one itself, and not only through others. */
bool plan_rests_directly(const struct plan_station *station, int on);
/* above[a]: whether station rests on station a, directly or through others; one for each station of
 * the plan. */
void plan_above(const struct plan *plan, int station, bool *above);
/* Whether a servo's own horn is measured here: an arm that is to be square, and nothing else that
 * is measured lies between it and the confirmations that it rests on. */
bool plan_is_servo(const struct plan *plan, int station);
/* Whether a confirmation is asked of this moment at the bench and not of the model, as that the
 * blades are off: it rests on nothing, and nothing that is measured rests on it directly. */
bool plan_is_momentary(const struct plan *plan, int station);
/* Names of all facts a station may carry, NULL past the end; and what each means. */
const char *plan_fact_name_at(int index);
const char *plan_fact_meaning_at(int index);
/* The same for a page: "Horn, hub to ball", unit "mm" ("" for none). */
const char *plan_fact_label(const char *name, const char **unit);

/* Ready-made plans: name ("tail-pushrod") and text; false past the end. */
bool plan_ready_made_at(int index, const char **name, const char **text);
/* Text of a ready-made plan, NULL when there is none of that name. */
const char *plan_ready_made(const char *name);

#endif
