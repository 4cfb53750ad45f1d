#include "job_other.h"

#include <stdlib.h>

static const char *value_of(const struct plan_station *station, const char *name)
{
    const char *value = plan_fact(station, name);
    return value ? value : "";
}

static void find_facts(const struct plan_station *there, const struct plan_station *here,
                       struct job_other *out)
{
    const char *name;
    int before = out->fact_count;
    for (int i = 0; (name = plan_fact_name_at(i)); i++) {
        struct job_other_fact fact = {here->key, here->title, name, value_of(there, name),
                                      value_of(here, name)};
        if (!plan_fact_same_value(fact.there, fact.here))
            out->facts[out->fact_count++] = fact;
    }
    out->fitted += out->fact_count > before;
}

/* What is done in one alone is told as such, and stands otherwise for that reason. */
static void find_state(const struct job_standing *there, const struct job_standing *here,
                       const struct plan_station *station, struct job_other *out)
{
    if (there->latest >= 0 && here->latest >= 0 && there->state != here->state)
        out->states[out->state_count++] =
            (struct job_other_state){station->key, station->title, there->state, here->state};
}

/* At most this many facts differ. */
static size_t facts_of(const struct plan *plan)
{
    size_t count = 0;
    for (int i = 0; i < plan->count; i++)
        count += (size_t)plan->stations[i].fact_count;
    return count;
}

bool job_other_find(const struct job_view *there, const struct job_view *here,
                    struct job_other *out)
{
    *out = (struct job_other){
        .facts = calloc(facts_of(&there->plan) + facts_of(&here->plan) + 1, sizeof *out->facts),
        .states = calloc((size_t)here->plan.count + 1, sizeof *out->states)};
    if (!out->facts || !out->states) {
        job_other_clear(out);
        return false;
    }
    for (int i = 0; i < here->plan.count; i++) {
        const struct plan_station *station = &here->plan.stations[i];
        int same = plan_find(&there->plan, station->key);
        if (same < 0 || there->plan.stations[same].kind != station->kind)
            continue;
        find_facts(&there->plan.stations[same], station, out);
        find_state(&there->standing[same], &here->standing[i], station, out);
    }
    return true;
}

void job_other_clear(struct job_other *other)
{
    free(other->facts);
    free(other->states);
    *other = (struct job_other){0};
}
