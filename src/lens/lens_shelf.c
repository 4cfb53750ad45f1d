#include "lens_shelf.h"

#include "base/message.h"

#include <ctype.h>
#include <dirent.h>
#include <errno.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static int is_json(const struct dirent *entry)
{
    size_t length = strlen(entry->d_name);
    return entry->d_name[0] != '.' && length > 5 &&
           strcmp(entry->d_name + length - 5, ".json") == 0;
}

static void read_one(const char *folder, const char *name, void (*complain)(const char *),
                     struct lens_shelf *shelf)
{
    char *path = NULL, *sentence = NULL, problem[LENS_PROFILE_PROBLEM];
    if (asprintf(&path, "%s/%s", folder, name) < 0)
        return;
    if (lens_profile_read(path, &shelf->profiles[shelf->count], problem)) {
        shelf->count++;
    } else if (complain) {
        if (asprintf(&sentence, "the lens profile \"%s\" %s", path, problem) >= 0) {
            complain(sentence);
            free(sentence);
        }
    }
    free(path);
}

/* A folder that is there and cannot be listed. */
static void tell_unread(const char *folder, int error, void (*complain)(const char *))
{
    char *sentence = NULL;
    if (complain && asprintf(&sentence,
                             "the folder of lens profiles, \"%s\", cannot be read (%s), so none of "
                             "its profiles is used; put that right, or measure with --lens none.",
                             folder, strerror(error)) >= 0)
        complain(sentence);
    free(sentence);
}

bool lens_shelf_load(const char *folder, void (*complain)(const char *), struct lens_shelf *out)
{
    struct dirent **entries = NULL;
    int n = scandir(folder, &entries, is_json, alphasort);
    *out = (struct lens_shelf){0};
    if (n < 0 && errno == ENOMEM)
        return false;
    if (n < 0 && errno != ENOENT)
        tell_unread(folder, errno, complain);
    if (n <= 0) {
        free(entries);
        return true;
    }
    out->profiles = calloc((size_t)n, sizeof *out->profiles);
    for (int i = 0; i < n; i++) {
        if (out->profiles)
            read_one(folder, entries[i]->d_name, complain, out);
        free(entries[i]);
    }
    free(entries);
    return out->profiles != NULL;
}

void lens_shelf_clear(struct lens_shelf *shelf)
{
    free(shelf->profiles);
    *shelf = (struct lens_shelf){0};
}

const struct lens_profile *lens_shelf_pick(const struct lens_shelf *shelf,
                                           const struct vision_photo_info *info)
{
    const struct lens_profile *best = NULL;
    for (size_t i = 0; i < shelf->count; i++) {
        const struct lens_profile *p = &shelf->profiles[i];
        if (lens_profile_match(p, info) == LENS_MATCH && (!best || strcmp(p->made, best->made) > 0))
            best = p;
    }
    return best;
}

char *lens_shelf_folder(void)
{
    const char *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    char *path = NULL;
    int length = -1;
    if (data && *data == '/') /* the specification: relative paths are to be ignored */
        length = asprintf(&path, "%s/armsquare/lenses", data);
    else if (home && *home)
        length = asprintf(&path, "%s/.local/share/armsquare/lenses", home);
    return length < 0 ? NULL : path;
}

char *lens_shelf_path(const char *folder, const struct lens_profile *p)
{
    char key[200], *path = NULL;
    snprintf(key, sizeof key, "%s-%.2fmm-%.0f-%dx%d", p->camera, p->focal_mm, p->exif_focal_px,
             p->lens.width_px, p->lens.height_px);
    for (char *c = key; *c; c++)
        *c = isalnum((unsigned char)*c) || *c == '.' ? (char)tolower((unsigned char)*c) : '-';
    return asprintf(&path, "%s/%s.json", folder, key) < 0 ? NULL : path;
}

/* ---- The person's own --------------------------------------------------------------------- */

static struct lens_shelf own;
static pthread_once_t own_once = PTHREAD_ONCE_INIT;

static void tell(const char *sentence)
{
    message_note("%s", sentence);
}

static void load_own(void)
{
    char *folder = lens_shelf_folder();
    if (folder)
        (void)lens_shelf_load(folder, tell, &own); /* without memory: as if there were none */
    free(folder);
}

const struct lens_shelf *lens_shelf_own(void)
{
    pthread_once(&own_once, load_own);
    return &own;
}
