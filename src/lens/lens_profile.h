/* A lens profile: what `armsquare lens` finds out about a camera, kept as a small JSON file.
 * docs/lens.md, "The file". */
#ifndef LENS_PROFILE_H
#define LENS_PROFILE_H

#include "vision.h"

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

#define LENS_PROFILE_VERSION 1
#define LENS_PROFILE_PROBLEM 200      /* bytes that hold any problem */
#define LENS_PROFILE_MOST_BYTES 65536 /* a profile has about 1500 */

struct lens_profile {
    struct vision_lens lens;
    /* The photos it is for, as their EXIF data has it; "" and 0: unknown. */
    char camera[96];
    double focal_mm;
    double exif_focal_px; /* differs from photo to photo under digital zoom */
    /* How it was made, and how good it is. */
    char made[32]; /* UTC, ISO 8601 */
    int photos;
    double rms_px, held_out_px, covered, removed_deg;
};

enum lens_match {
    LENS_MATCH,         /* taken with this camera and lens, at this size */
    LENS_MATCH_UNKNOWN, /* nothing speaks against it, but the photo does not say */
    LENS_MATCH_NOT,
};

/* Is the profile for a photo like this? Camera, focal length and digital zoom after EXIF, and the
 * size. */
enum lens_match lens_profile_match(const struct lens_profile *profile,
                                   const struct vision_photo_info *info);
/* The same between two photos, for making one: NULL when they agree (also in what they do not say),
 * otherwise in what they differ: "camera", "lens", "zoom" or "size". */
const char *lens_profile_difference(const struct vision_photo_info *a,
                                    const struct vision_photo_info *b);

/* The profile of photos like this from what a fit found. */
void lens_profile_make(const struct vision_photo_info *photo, const struct vision_lens_fit *fit,
                       int photos, struct lens_profile *out);

/* NULL: no memory. */
json_t *lens_profile_to_json(const struct lens_profile *profile);
/* From the text of a file. false: problem holds the end of a sentence that begins with the file's
 * name, such as "is damaged: it has no \"focal_px\"; make ..."; out is then unchanged. */
bool lens_profile_parse(const char *text, size_t size, struct lens_profile *out,
                        char problem[LENS_PROFILE_PROBLEM]);

/* The same with files. Writing: false and errno. */
bool lens_profile_read(const char *path, struct lens_profile *out,
                       char problem[LENS_PROFILE_PROBLEM]);
bool lens_profile_write(const char *path, const struct lens_profile *profile);

#endif
