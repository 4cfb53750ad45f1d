#include "measure_places.h"

#include "base/exit_status.h"
#include "base/message.h"
#include "base/safe_file.h"
#include "base/same_file.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* What makes a file itself, whatever its path. */
struct identity {
    dev_t device;
    ino_t inode;
    const char *name; /* of one that is not there yet: its name in that folder */
    size_t shot;
};

static int compare_files(const void *left, const void *right)
{
    const struct identity *a = left, *b = right;
    if (a->device != b->device)
        return a->device < b->device ? -1 : 1;
    if (a->inode != b->inode)
        return a->inode < b->inode ? -1 : 1;
    return strcmp(a->name, b->name);
}

/* Equals stay in the order in which they were given. */
static int compare(const void *left, const void *right)
{
    const struct identity *a = left, *b = right;
    int files = compare_files(a, b);
    return files ? files : (a->shot > b->shot) - (a->shot < b->shot);
}

/* One that is not there is known by its path. */
static struct identity photo_identity(const char *path, size_t shot)
{
    struct stat about;
    if (stat(path, &about) != 0)
        return (struct identity){.name = path, .shot = shot};
    return (struct identity){about.st_dev, about.st_ino, "", shot};
}

/* A picture takes the place of its name in a folder, even where the name was a link. */
static struct identity picture_identity(const char *path, size_t shot)
{
    const char *slash = strrchr(path, '/');
    char *folder = slash ? strndup(path, (size_t)(slash - path) + 1) : NULL;
    struct stat about;
    bool there = stat(folder ? folder : ".", &about) == 0;
    free(folder);
    if (!there)
        return (struct identity){.name = path, .shot = shot};
    return (struct identity){about.st_dev, about.st_ino, slash ? slash + 1 : path, shot};
}

/* The first that is the same file as the one before it; NULL where each is another. */
static const struct identity *find_twin(const struct identity *sorted, size_t count)
{
    for (size_t i = 1; i < count; i++)
        if (compare_files(&sorted[i - 1], &sorted[i]) == 0)
            return &sorted[i];
    return NULL;
}

/* Two pictures in one place: of one photo, or of two whose names differ in folder or suffix. */
static int refuse_twins(const struct measure_shot *one, const struct measure_shot *two)
{
    if (strcmp(one->path, two->path) == 0)
        return fail_usage("\"%s\" is given twice; give each photo once.", one->path);
    if (same_file(one->path, two->path))
        return fail_usage("\"%s\" and \"%s\" are one photo, given twice; give each photo once.",
                          one->path, two->path);
    return fail_usage("the pictures of \"%s\" and \"%s\" would both be \"%s\"; measure them one by "
                      "one, or with --no-picture.",
                      one->path, two->path, two->picture_path);
}

/* photos: sorted. */
static int check_picture(const struct measure_shot *shots, size_t at, const struct identity *photos,
                         size_t count)
{
    const char *picture = shots[at].picture_path;
    struct stat about;
    if (stat(picture, &about) != 0)
        return EXIT_DONE;
    if (S_ISDIR(about.st_mode))
        return fail_usage("\"%s\" is a folder; give a file name, or the folder with --out.",
                          picture);
    struct identity key = {about.st_dev, about.st_ino, "", 0};
    const struct identity *hit = bsearch(&key, photos, count, sizeof *photos, compare_files);
    if (hit)
        return fail_usage("the picture of \"%s\" would overwrite the photo \"%s\"; name another "
                          "place with -o or --out.",
                          shots[at].path, shots[hit->shot].path);
    return EXIT_DONE;
}

/* photos and pictures: room for count each. */
static int check(const struct measure_shot *shots, size_t count, struct identity *photos,
                 struct identity *pictures)
{
    for (size_t i = 0; i < count; i++) {
        photos[i] = photo_identity(shots[i].path, i);
        pictures[i] = picture_identity(shots[i].picture_path, i);
    }
    qsort(photos, count, sizeof *photos, compare);
    qsort(pictures, count, sizeof *pictures, compare);
    for (size_t i = 0; i < count; i++) {
        int status = check_picture(shots, i, photos, count);
        if (status != EXIT_DONE)
            return status;
    }
    const struct identity *twin = find_twin(pictures, count);
    if (twin)
        return refuse_twins(&shots[twin[-1].shot], &shots[twin->shot]);
    for (size_t i = 0; i < count; i++) {
        const char *kept = safe_file_keeps(shots[i].picture_path);
        if (kept)
            return fail_kept(shots[i].picture_path, kept, "-o FILE or --out DIR");
    }
    return EXIT_DONE;
}

int measure_places_check(const struct measure_shot *shots, size_t count)
{
    struct identity *photos = calloc(count, sizeof *photos);
    struct identity *pictures = calloc(count, sizeof *pictures);
    int status = photos && pictures
                     ? check(shots, count, photos, pictures)
                     : fail_trouble("there is not enough memory for so many photos.");
    free(photos);
    free(pictures);
    return status;
}
