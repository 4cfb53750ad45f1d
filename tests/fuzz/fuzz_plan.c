/* Fuzz target: any bytes as the text of a plan. What is read keeps the rules, and what is written
 * of it reads back to the same text. The ready-made plans are the corpus. */
#include "job/plan.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define MAX_INPUT 65536 /* a plan is some pages of text */

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void write_and_read(const struct plan *plan)
{
    struct plan again;
    struct plan_trouble trouble;
    char *once = plan_write(plan);
    if (!plan_is_sound(plan, &trouble) || !once || !plan_read(once, &again, &trouble))
        abort();
    char *twice = plan_write(&again);
    if (!twice || strcmp(once, twice) != 0 || again.count != plan->count)
        abort();
    plan_clear(&again);
    free(once);
    free(twice);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct plan plan;
    struct plan_trouble trouble;
    if (size > MAX_INPUT)
        return 0;
    char *text = malloc(size + 1);
    if (!text)
        return 0;
    memcpy(text, data, size);
    text[size] = '\0';
    if (plan_read(text, &plan, &trouble)) {
        write_and_read(&plan);
        plan_clear(&plan);
    } else if (!*trouble.text) {
        abort();
    }
    free(text);
    return 0;
}
