/* The person's own lens profiles: where they lie, and which one belongs to a photo. */
#ifndef LENS_SHELF_H
#define LENS_SHELF_H

#include "lens_profile.h"

struct lens_shelf {
    struct lens_profile *profiles; /* in the order of their files' names */
    size_t count;
};

/* Loads every *.json in a folder; none when there is no such folder. Files that are no sound
 * profile are left out, each with one sentence to complain, if that is given; so is the whole of a
 * folder that cannot be read. false: no memory. */
bool lens_shelf_load(const char *folder, void (*complain)(const char *sentence),
                     struct lens_shelf *out);
void lens_shelf_clear(struct lens_shelf *shelf);

/* The profile that matches a photo; of several the one made last. NULL: none. */
const struct lens_profile *lens_shelf_pick(const struct lens_shelf *shelf,
                                           const struct vision_photo_info *info);

/* $XDG_DATA_HOME/armsquare/lenses, or ~/.local/share/armsquare/lenses (XDG Base Directory
 * Specification 0.8). Owned by the caller; NULL without a home or memory. */
char *lens_shelf_folder(void);
/* Where in a folder the profile of photos like this lies; it takes the place of an older one. Owned
 * by the caller; NULL without memory. */
char *lens_shelf_path(const char *folder, const struct lens_profile *profile);

/* The shelf of lens_shelf_folder(), loaded at the first call; what is broken in it is then told on
 * stderr. Safe from several threads. */
const struct lens_shelf *lens_shelf_own(void);

#endif
