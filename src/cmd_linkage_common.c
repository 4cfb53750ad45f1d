#include "cmd_linkage_common.h"

#include "commands.h"
#include "decision.h"
#include "linkage_words.h"
#include "message.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct link_words link_words_default(void)
{
    return (struct link_words){.arm = {.arm_to_link_deg = {90, 0}, .ends = {.step_turns = -1}}};
}

int link_words_finish(struct link_words *words)
{
    if (!words->longer)
        return EXIT_DONE;
    if (strcmp(words->longer, "ccw") == 0)
        words->arm.longer = LONGER_CCW;
    else if (strcmp(words->longer, "cw") == 0)
        words->arm.longer = LONGER_CW;
    else
        return fail_usage("--longer must be ccw or cw (which way a longer link turns the arm, as "
                          "seen in the photo), not \"%s\".",
                          words->longer);
    return EXIT_DONE;
}

int answer_json(json_t *json)
{
    int failed = !json || json_dumpf(json, stdout, JSON_INDENT(2) | JSON_REAL_PRECISION(9));
    putchar('\n');
    json_decref(json);
    return failed ? fail_trouble("there is not enough memory for the answer.") : EXIT_DONE;
}

int read_angles(const struct linkage_option_list *values, int n, const char *usage,
                struct quantity *out)
{
    if (values->count != n)
        return fail_usage("%s", usage);
    for (int i = 0; i < n; i++) {
        int status = linkage_angle_read(values->items[i], &out[i]);
        if (status != EXIT_DONE)
            return status;
    }
    return EXIT_DONE;
}

const char *say_spread(struct quantity quantity, int decimals, char *text, size_t size)
{
    text[0] = '\0';
    if (quantity.u > 0)
        snprintf(text, size, " +- %.*f", decimals, quantity_expanded(quantity));
    return text;
}

void answer_deviation(const char *what, struct quantity off, double tolerance_deg,
                      const struct link_words *words, json_t *json)
{
    enum decision decision = decision_make(off.value, quantity_expanded(off), tolerance_deg);
    static const char *const says[] = {
        [DECISION_ACCEPT] = "within",
        [DECISION_REJECT] = "outside",
        [DECISION_CANNOT_TELL] = "too near to call against",
    };
    char spread[32], action[LINKAGE_SENTENCE_SIZE] = "";
    struct linkage_cure cure;
    bool cured = words && linkage_cure(&words->arm, off, &cure);
    if (cured)
        linkage_cure_say(&words->arm, off, &cure, action, sizeof action);
    if (json) {
        json_object_set_new(json, "off_deg", linkage_quantity_json(off));
        json_object_set_new(json, "tolerance_deg", json_real(tolerance_deg));
        json_object_set_new(json, "decision", json_string(decision_name(decision)));
        json_object_set_new(json, "cure", cured ? linkage_cure_json(&cure) : json_null());
        json_object_set_new(json, "action", cured ? json_string(action) : json_null());
        return;
    }
    say_spread(off, 2, spread, sizeof spread);
    printf("%s: %.2f%s deg %s as seen in the photo: %s the tolerance of %.1f deg.\n", what,
           fabs(off.value), spread, off.value >= 0 ? "counter-clockwise" : "clockwise",
           says[decision], tolerance_deg);
    if (decision == DECISION_CANNOT_TELL)
        puts("  Measure better before deciding: squarer to the card, closer, or several photos.");
    if (decision == DECISION_ACCEPT)
        puts("  Leave it.");
    else if (cured)
        printf("  Do: %s\n", action);
    else
        printf("  Do: turn it %s by %.1f deg.\n", linkage_cure_way(off.value), fabs(off.value));
}
