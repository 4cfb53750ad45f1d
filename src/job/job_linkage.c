#include "job_linkage.h"

#include "linkage/linkage_result.h"
#include "linkage/linkage_words.h"

#include <stdio.h>
#include <string.h>

bool job_linkage_make(const struct plan_station *station, const char *name, struct linkage *out)
{
    static const struct {
        const char *fact;
        enum linkage_part part;
    } parts[] = {{"horn-arm-mm", LINKAGE_HORN},
                 {"base-mm", LINKAGE_ALONG},
                 {"crank-arm-mm", LINKAGE_ARM},
                 {"link-mm", LINKAGE_LINK}};
    struct linkage_stage *stage = &out->stages[0];
    *out = (struct linkage){
        .low_deg = -JOB_LINKAGE_TRAVEL_DEG, .high_deg = JOB_LINKAGE_TRAVEL_DEG, .stage_count = 1};
    *stage = linkage_stage_default(LINKAGE_CRANK);
    snprintf(out->name, sizeof out->name, "%s", name);
    snprintf(stage->name, sizeof stage->name, "crank");
    for (size_t p = 0; p < sizeof parts / sizeof *parts; p++) {
        double value = plan_fact_number(station, parts[p].fact, 0);
        stage->given[parts[p].part] = value > 0;
        stage->parts[parts[p].part] = (struct quantity){value, 0};
    }
    return stage->given[LINKAGE_HORN] && stage->given[LINKAGE_ALONG] && stage->given[LINKAGE_ARM];
}

char *job_linkage_fault(const struct plan_station *station)
{
    struct linkage linkage;
    struct linkage_result result;
    struct linkage_fault fault;
    char says[LINKAGE_SENTENCE_SIZE], *text = NULL;
    if (!job_linkage_make(station, "Linkage", &linkage) ||
        linkage_analyse(&linkage, &result, &fault) == LINKAGE_OK)
        return strdup("");
    linkage_say_fault(&linkage, &fault, says, sizeof says);
    return asprintf(&text,
                    "The lengths entered make no linkage for a servo that turns %g degrees each "
                    "way (assumed), so none is drawn. %s",
                    JOB_LINKAGE_TRAVEL_DEG, says) < 0
               ? NULL
               : text;
}
