/* Fuzz target: any bytes as the description of a linkage, analysed when they can be read. The
 * sanitizers judge; the shipped descriptions are the corpus. */
#include "linkage/linkage_export.h"
#include "linkage/linkage_file.h"
#include "linkage/linkage_result.h"
#include "linkage/linkage_words.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MAX_INPUT 8192 /* a description is a page of text */

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void analyse(const struct linkage *linkage)
{
    struct linkage_fault fault;
    struct linkage_result *result = malloc(sizeof *result);
    FILE *nowhere = fopen("/dev/null", "w");
    if (!result || !nowhere)
        abort();
    if (linkage_analyse(linkage, result, &fault) == LINKAGE_OK) {
        json_t *json = linkage_to_json(linkage, result);
        if (!json)
            abort(); /* a name or a number that JSON cannot hold */
        json_decref(json);
        linkage_print(linkage, result, nowhere);
        linkage_print_csv(linkage, &result->ready, 5, nowhere);
    } else {
        char text[LINKAGE_PROBLEM_SIZE];
        linkage_say_fault(linkage, &fault, text, sizeof text);
        if (!*text)
            abort();
    }
    fclose(nowhere);
    free(result);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size > MAX_INPUT)
        return 0;
    char *text = malloc(size + 1), problem[LINKAGE_PROBLEM_SIZE];
    struct linkage linkage = linkage_empty();
    if (!text)
        return 0;
    memcpy(text, data, size);
    text[size] = '\0';
    if (linkage_take_text(&linkage, text, problem, sizeof problem))
        analyse(&linkage);
    free(text);
    return 0;
}
