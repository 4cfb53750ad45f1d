#include "reasons.h"

#include <errno.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

/* "huge photo" names the limit, and so does docs/measure.md (tests/check_documents.sh). */
_Static_assert((long)VISION_MAX_PIXELS == 210000000, "reword VISION_HUGE_PHOTO");

static const char *const sentences[VISION_REASON_COUNT] = {
    [VISION_REASON_NONE] = "",
    [VISION_NO_FILE] = "The file cannot be read; check its name and where it lies.",
    [VISION_EMPTY_FILE] = "The file is empty; copy the photo from the camera again.",
    [VISION_NOT_A_PHOTO] = "This is neither a JPEG nor a PNG picture; give the photo as the camera "
                           "saved it.",
    [VISION_HEIC_PHOTO] = "This is a HEIC or AVIF picture; set the camera to save JPEG, or save "
                          "this photo as JPEG and give that.",
    [VISION_BROKEN_PHOTO] = "The photo is damaged; copy it from the camera again.",
    [VISION_TRUNCATED_PHOTO] = "The file ends before the photo does; copy it from the camera "
                               "again.",
    [VISION_HUGE_PHOTO] = "The photo has too many pixels; save it with 210 megapixels or fewer, as "
                          "a progressive JPEG with 60 or fewer.",
    [VISION_TINY_PHOTO] = "The picture is too small to show a card; give the photo in its full "
                          "size.",
    [VISION_ANIMATED_PHOTO] = "This is an animation; give a single still photo.",
    [VISION_DRAWN_PHOTO] = "This is a picture with lines already drawn in; give the photo it was "
                           "made from.",
    [VISION_NO_MEMORY] = "There is not enough memory for this photo; close other programs or save "
                         "the photo smaller.",

    [VISION_NO_CARD] =
        "No card was found; go closer, with more light and no glare, the whole printed "
        "side flat and sharp in the photo, and not mirrored (selfie camera).",
    [VISION_SHRUNK_PHOTO] =
        "The photo was made smaller, and has too few pixels for the card; give it "
        "in its full size, as the camera saved it.",
    [VISION_DARK_PHOTO] = "The photo is too dark to show the card; take it again with more light, "
                          "soft and even.",
    [VISION_BURNT_PHOTO] = "The photo is too bright to show the card, much of it burnt out white; "
                           "take it again with less light and no flash.",
    [VISION_FEW_MARKERS] = "Too few of the card's black and white squares can be seen; uncover "
                           "them and take the whole card into the photo.",
    [VISION_MIXED_CARDS] = "More than one card can be seen; leave only the card behind the part "
                           "in the photo.",
    [VISION_BENT_CARD] = "The card is not flat; stiffen it, lay it flat behind the part and take "
                         "the photo again.",
    [VISION_SMALL_CARD] = "The card is too small in the photo; go closer until it nearly fills "
                          "the picture.",
    [VISION_STEEP_VIEW] = "The photo was taken from too far to the side; hold the camera straight "
                          "above the card.",
    [VISION_BAD_LIGHT] = "The card is too dark, too bright, unevenly lit or without colour; use "
                         "soft, even light, no flash, a card printed in colour and a colour photo.",

    [VISION_NO_PART] = "Nothing lies in front of the card; slip the card behind the horn so that "
                       "an arm stands before its coloured face.",
    [VISION_NO_ARM] =
        "No arm can be made out before the card; show it up to its tip before the coloured face, "
        "clear of slot, links and wires, or give hub and tip with --arm X,Y,X,Y.",
    [VISION_ARM_ON_SQUARE] = "No arm can be made out before the coloured face, but a printed "
                             "square is hidden; if the arm "
                             "hides it, shift the card so that the arm stands between two squares.",
    [VISION_ARM_IN_SLOT] =
        "The arm lies along the card's slot, where its sides cannot be told; turn "
        "the card so that the slot leads away from the arm.",
    [VISION_ARM_ON_STRIPE] =
        "A side of the arm runs along the edge of a stripe of the card, which hides where it is; "
        "shift the card by 3 mm along the servo case.",
    [VISION_NO_HOLE] =
        "Only something round can be made out, no arms and no holes to see through; of a disc, "
        "free a hole, or give hub and ball with --arm X,Y,X,Y.",
    [VISION_DISC_BEYOND] = "The middle of the disc or wheel lies beyond the card; put the card "
                           "behind the whole of it, "
                           "or give hub and ball with --arm X,Y,X,Y.",
    [VISION_BALL_ASKEW] =
        "Only a ball shows where the disc points, and balls stand above it; take the photo from "
        "squarer on, or with a hole that can be seen through.",
    [VISION_POOR_HOLES] =
        "The disc's holes are seen too poorly; go closer and squarer on, free them, or give hub "
        "and ball with --arm X,Y,X,Y.",
    [VISION_SHORT_ARM] =
        "The straight sides of the arm are too short; go closer (with a smaller card where this "
        "one fills the photo), or take the ball link off.",
    [VISION_UNSURE_HUB] =
        "Which end of the arm is the hub cannot be told; show the arm from hub to tip, or give "
        "hub and tip with --arm X,Y,X,Y.",
    [VISION_EDGES_DISAGREE] = "The two sides of the arm tell different angles; clear away what "
                              "touches or hides them and take the photo again.",
    [VISION_UNSURE_PART] = "Only a piece of the outline is clear; clear away fingers, links and "
                           "wires and take the photo again.",
    [VISION_POINTS_ONLY] =
        "No clear sides of an arm were found where you pointed, so the angle is only that of your "
        "two points; clear the arm's sides and take the photo again.",
    [VISION_CARD_COLOURED] =
        "The part has a colour of the card, which hides its sides; print a card in the other "
        "colour: armsquare card --tint pink or --tint green.",
    [VISION_TWO_PARTS] =
        "Two parts lie before the card; leave only the one to be measured, or give its hub and tip "
        "with --arm X,Y,X,Y.",
    [VISION_LEANING_CARD] = "The arms look unevenly spaced, as before a card that leans; lay the "
                            "card parallel to the arms, or photograph them again from squarer on.",

    [VISION_NO_STICKER] = "No crank's sticker (A, B or C) was found; take it into the photo whole, "
                          "sharp and without glare.",
    [VISION_NO_FIXED] = "There is nothing fixed to measure the sticker against; take a card, or a "
                        "sticker F or G on the frame, into the same photo.",
    [VISION_SAME_STICKERS] = "Two stickers of the same name can be seen; use another letter for "
                             "each crank.",
    [VISION_SMALL_STICKER] = "A sticker is too small in the photo; go closer, or use a larger one.",
    [VISION_HIDDEN_STICKER] = "A sticker is partly hidden, bent or blurred; uncover it, stick it "
                              "flat and take the photo again.",
    [VISION_TILTED_STICKER] = "The sticker is far from parallel to the card or fixed sticker; lay "
                              "that one parallel to the crank's face.",
    [VISION_OTHER_LENS] = "The lens profile was made for another camera, lens, zoom or size of "
                          "photo; measure with --lens none, or with the profile of this one.",
    [VISION_OTHER_FOCAL] = "The focal length given by --focal is not that of this photo; leave "
                           "--focal out, or give it in pixels of this very size.",

    [VISION_NO_EDGE] = "No clear straight edge runs between the two points, the card's own not "
                       "counted; put both on "
                       "it, far apart, or measure a faint one by --reference points.",
    [VISION_TWO_EDGES] = "More than one straight edge runs between the two points, in different "
                         "directions; put both exactly on the one that counts and measure against "
                         "the points.",
    [VISION_THIN_LINE] =
        "What was found may be a thin line on one surface, or lies too close to the photo's rim to "
        "tell; put both points on the edge and measure against them.",
    [VISION_NO_LINK] = "No link was found at the tip of the arm; let more of it lie in front of "
                       "the card, or measure against something else.",
    [VISION_LINKS_ARM] = "The arm that the link hangs on could not be measured, only others; say "
                         "where its hub and tip are with --arm.",
    [VISION_BAD_HINT] = "The points given lie outside the photo or too close together; count "
                        "pixels from the photo's top left corner.",
};

const char *reason_sentence(enum vision_reason reason)
{
    if ((int)reason < 0 || reason >= VISION_REASON_COUNT)
        return "";
    return sentences[reason];
}

const char *reason_unopened(enum vision_reason reason, const char *path)
{
    struct stat about;
    if (reason != VISION_NO_FILE)
        return reason_sentence(reason);
    if (!*path)
        return "The photo's name is empty; name its file.";
    if (stat(path, &about) == 0 && S_ISDIR(about.st_mode))
        return "This is a folder; name the photos in it.";
    if (stat(path, &about) == 0 && S_ISFIFO(about.st_mode))
        return "This is a pipe with nothing in it; name the photo's file.";
    if (access(path, R_OK) == 0)
        return reason_sentence(reason);
    return errno == EACCES
               ? "You have no right to read the file; change its permissions or copy it."
           : errno == ENOENT || errno == ENOTDIR
               ? "There is no such file; check its name and where it lies."
               : reason_sentence(reason);
}

void reason_size_note(enum vision_reason reason, const struct vision_photo_info *photo,
                      char out[REASON_SIZE_NOTE])
{
    out[0] = '\0';
    if (reason == VISION_BAD_HINT && photo->width_px > 0)
        snprintf(out, REASON_SIZE_NOTE, "This photo has %d x %d pixels.", photo->width_px,
                 photo->height_px);
}
