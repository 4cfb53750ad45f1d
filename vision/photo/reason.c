/* Short codes of the reasons, as they stand in JSON. */
#include "vision.h"

static const char *const codes[VISION_REASON_COUNT] = {
    [VISION_NO_FILE] = "no-file",
    [VISION_EMPTY_FILE] = "empty-file",
    [VISION_NOT_A_PHOTO] = "not-a-photo",
    [VISION_HEIC_PHOTO] = "heic-photo",
    [VISION_BROKEN_PHOTO] = "broken-photo",
    [VISION_TRUNCATED_PHOTO] = "truncated-photo",
    [VISION_HUGE_PHOTO] = "huge-photo",
    [VISION_TINY_PHOTO] = "tiny-photo",
    [VISION_ANIMATED_PHOTO] = "animated-photo",
    [VISION_DRAWN_PHOTO] = "drawn-photo",
    [VISION_NO_MEMORY] = "no-memory",
    [VISION_NO_CARD] = "no-card",
    [VISION_SHRUNK_PHOTO] = "shrunk-photo",
    [VISION_DARK_PHOTO] = "dark-photo",
    [VISION_BURNT_PHOTO] = "burnt-photo",
    [VISION_FEW_MARKERS] = "few-markers",
    [VISION_MIXED_CARDS] = "mixed-cards",
    [VISION_BENT_CARD] = "bent-card",
    [VISION_SMALL_CARD] = "small-card",
    [VISION_STEEP_VIEW] = "steep-view",
    [VISION_BAD_LIGHT] = "bad-light",
    [VISION_NO_PART] = "no-part",
    [VISION_NO_ARM] = "no-arm",
    [VISION_ARM_IN_SLOT] = "arm-in-slot",
    [VISION_ARM_ON_STRIPE] = "arm-on-stripe",
    [VISION_ARM_ON_SQUARE] = "arm-on-square",
    [VISION_NO_HOLE] = "no-hole",
    [VISION_DISC_BEYOND] = "disc-beyond",
    [VISION_BALL_ASKEW] = "ball-askew",
    [VISION_POOR_HOLES] = "poor-holes",
    [VISION_SHORT_ARM] = "short-arm",
    [VISION_UNSURE_HUB] = "unsure-hub",
    [VISION_EDGES_DISAGREE] = "edges-disagree",
    [VISION_UNSURE_PART] = "unsure-part",
    [VISION_POINTS_ONLY] = "points-only",
    [VISION_CARD_COLOURED] = "card-coloured",
    [VISION_TWO_PARTS] = "two-parts",
    [VISION_LEANING_CARD] = "leaning-card",
    [VISION_NO_STICKER] = "no-sticker",
    [VISION_NO_FIXED] = "no-fixed",
    [VISION_SAME_STICKERS] = "same-stickers",
    [VISION_SMALL_STICKER] = "small-sticker",
    [VISION_HIDDEN_STICKER] = "hidden-sticker",
    [VISION_TILTED_STICKER] = "tilted-sticker",
    [VISION_OTHER_LENS] = "other-lens",
    [VISION_OTHER_FOCAL] = "other-focal",
    [VISION_NO_EDGE] = "no-edge",
    [VISION_TWO_EDGES] = "two-edges",
    [VISION_THIN_LINE] = "thin-line",
    [VISION_NO_LINK] = "no-link",
    [VISION_LINKS_ARM] = "links-arm",
    [VISION_BAD_HINT] = "bad-hint",
};

const char *vision_reason_code(enum vision_reason reason)
{
    if ((int)reason <= VISION_REASON_NONE || reason >= VISION_REASON_COUNT)
        return NULL;
    return codes[reason];
}
