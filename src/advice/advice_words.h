/* Advice in words: one sentence for a person with dirty hands, the same in text, JSON, page and
 * report. Every function fills a buffer of the caller's and returns it; ADVICE_WORDS bytes hold
 * any of the sentences. */
#ifndef ADVICE_WORDS_H
#define ADVICE_WORDS_H

#include "advice.h"

#define ADVICE_WORDS 400

/* "6.8 ± 0.2 degrees counter-clockwise of square": how an arm lies against wanted_deg.
 * expanded_deg NAN leaves "± ..." out. */
const char *advice_stands(const struct advice_question *question, double deviation_deg,
                          double expanded_deg, char *out);

/* "within the tolerance of 0.5" and so on. expanded_deg NAN: there is no uncertainty to judge by.
 */
const char *advice_verdict(const struct advice_question *question, enum decision decision,
                           double expanded_deg, char *out);

/* What to do with the horn: "Lift the horn, turn it 1 tooth clockwise as seen in the photo
 * (14.4 degrees), press it back on." advice: the one that the option belongs to. */
const char *advice_action(const struct advice_question *question, const struct advice *advice,
                          const struct advice_option *option, char *out);

/* What to do with the sub-trim after that, and what it leaves; or why none. */
const char *advice_trim_action(const struct advice_question *question,
                               const struct advice_option *option, char *out);

/* The change alone where one is to be made (ADVICE_TRIM_USE): "Change sub-trim by -2 %: the arm
 * must move clockwise (if it does not, use +2 %)." */
const char *advice_trim_change(const struct advice_option *option, char *out);

/* What sub-trim alone would need with the horn left as it is. "" when it needs none or degrees
 * per percent are not known. */
const char *advice_trim_alone(const struct advice_question *question, const struct advice *advice,
                              char *out);

#endif
