/* armsquare read: the measurement back from an annotated picture. */
#include "base/answer.h"
#include "base/clean_text.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "base/option_value.h"
#include "commands.h"
#include "picture/picture_record.h"
#include "result/measure_json.h"
#include "result/measure_words.h"
#include "result/reasons.h"

#include <getopt.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static const char help[] =
    "usage: armsquare read [--json] PICTURE\n"
    "\n"
    "Reads the measurement back from a picture that \"armsquare measure\" has drawn, and says\n"
    "whether the picture or the measurement in it was changed since. That shows accidents, such\n"
    "as a picture sent through a program that shrinks it; it is no proof against forgery.\n"
    "\n"
    "      --json  the measurement as \"measure --json\" gave it, with \"picture\" added:\n"
    "              what became of \"pixels\" and \"text\", \"unaltered\" or \"altered\"\n"
    "  -h, --help  this text\n"
    "\n"
    "Exit status: 0 unaltered, 3 altered or no measurement in it.\n"
    "\n"
    "example:\n"
    "  armsquare read rudder.armsquare.png\n";

static const char *state(bool altered)
{
    return altered ? "altered" : "unaltered";
}

static int say_fault(const char *path, enum picture_record_fault fault, bool json)
{
    struct stat about;
    switch (fault) {
    case PICTURE_RECORD_NO_FILE:
        if (stat(path, &about) == 0 && S_ISDIR(about.st_mode))
            return answer_refuse(json, "\"%s\" is a folder; name one of the pictures in it.", path);
        return answer_refuse(json, "%s: %s", path, reason_unopened(VISION_NO_FILE, path));
    case PICTURE_RECORD_EMPTY:
        return answer_refuse(
            json, "\"%s\" is empty; copy the picture again, or measure the photo again.", path);
    case PICTURE_RECORD_NO_PNG:
        return answer_refuse(
            json,
            "\"%s\" is no still PNG picture, or a damaged one; give the picture that "
            "\"armsquare measure\" wrote.",
            path);
    default:
        return answer_refuse(json,
                             "\"%s\" carries no measurement; give the picture that \"armsquare "
                             "measure\" wrote, not the photo or a copy made by another program.",
                             path);
    }
}

static int print_json(struct picture_record *record)
{
    json_t *picture = json_pack("{s:s, s:s}", "pixels", state(record->pixels_altered), "text",
                                state(record->text_altered));
    if (json_object_set_new(record->measurement, "picture", picture) != 0)
        return fail_trouble("there is not enough memory to show the measurement.");
    return answer_print_json(json_incref(record->measurement), MEASURE_JSON_FLAGS);
}

/* A text of a measurement that may have been changed: shown clean, "?" when it is not there. */
static void print_member(const struct picture_record *record, const char *key, const char *after)
{
    const char *value = json_string_value(json_object_get(record->measurement, key));
    char *clean = value ? clean_text(value) : NULL;
    printf("%s%s", clean ? clean : "?", after);
    free(clean);
}

/* The arms that the message does not speak of. */
static void print_other_arms(const struct picture_record *record)
{
    const json_t *decision = json_object_get(record->measurement, "decision");
    const char *told = json_string_value(json_object_get(decision, "arm"));
    const char *status = json_string_value(json_object_get(record->measurement, "status"));
    bool unsure = status && strcmp(status, "unsure") == 0;
    struct vision_result result;
    if (!measure_from_json(record->measurement, &result))
        return;
    for (int i = 0; i < result.arm_count; i++) {
        char text[MEASURE_WORDS];
        if (told ? strcmp(result.arms[i].name, told) == 0 : i == measure_told(&result, NULL))
            continue;
        measure_arm_sentence(&result.arms[i], result.reference, unsure, text);
        char *clean = clean_text(text);
        printf("    %s\n", clean ? clean : "?");
        free(clean);
    }
    char more[MEASURE_WORDS];
    measure_untold_sentence(&result, more);
    if (*more)
        printf("    %s\n", more);
}

/* The lines about a tolerance that was asked for. */
static void print_decision(const struct picture_record *record)
{
    const json_t *decision = json_object_get(record->measurement, "decision");
    const char *lines = json_string_value(json_object_get(decision, "message"));
    while (lines && *lines) {
        size_t length = strcspn(lines, "\n");
        char *line = strndup(lines, length), *clean = line ? clean_text(line) : NULL;
        printf("    %s\n", clean ? clean : "?");
        free(clean);
        free(line);
        lines += length + (lines[length] == '\n');
    }
}

static int print_plain(const struct picture_record *record)
{
    print_member(record, "photo", ": ");
    print_member(record, "message", "\n");
    print_other_arms(record);
    print_decision(record);
    return EXIT_DONE;
}

static int report(const char *path, struct picture_record *record, bool json)
{
    if (!record->measurement)
        return answer_refuse(json, "the measurement in \"%s\" is damaged; measure the photo again.",
                             path);
    int status = json ? print_json(record) : print_plain(record);
    if (status != EXIT_DONE)
        return status;
    if (record->text_altered || record->pixels_altered)
        return fail_unusable("the %s of \"%s\" changed since it was written; measure the photo "
                             "again.",
                             !record->text_altered     ? "pixels"
                             : !record->pixels_altered ? "measurement"
                                                       : "pixels and measurement",
                             path);
    if (!json)
        printf("    Picture and measurement are as they were written.\n");
    return EXIT_DONE;
}

int cmd_read(int argc, char **argv)
{
    static const struct option options[] = {
        {"json", no_argument, NULL, 'j'}, {"help", no_argument, NULL, 'h'}, {NULL, 0, NULL, 0}};
    bool json = false;
    int c;
    opterr = 0;
    while ((c = getopt_long(argc, argv, ":h", options, NULL)) != -1) {
        if (c == 'h') {
            fputs(help, stdout);
            return EXIT_DONE;
        }
        if (c != 'j')
            return usage_unknown_option("read", c, argv);
        json = true;
    }
    if (argc - optind != 1)
        return fail_usage("give one picture to read, such as \"armsquare read "
                          "rudder.armsquare.png\".");
    struct picture_record record;
    enum picture_record_fault fault = picture_record_read(argv[optind], &record);
    if (fault != PICTURE_RECORD_FINE)
        return say_fault(argv[optind], fault, json);
    int status = report(argv[optind], &record, json);
    picture_record_clear(&record);
    return status;
}
