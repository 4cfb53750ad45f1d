/* vision: a photo of a part in front of a printed card in, angles with uncertainty out.
 *
 * In order of use: choose a card (print it elsewhere), open a photo, measure it, read the result.
 *
 * Frames and units
 *   photo   pixels, x right, y down, the centre of the top left pixel is (0, 0); always the photo
 *           as it should be viewed (EXIF orientation applied), at full resolution.
 *   card    millimetres, origin at the card's centre, x right and y up as one faces the print.
 *   angles  degrees, counter-clockwise positive as seen in the photo.
 *   u       standard uncertainty (JCGM 100:2008).
 *
 * Nothing here prints or exits. Calls are safe from several threads on separate photos and results.
 * The first one sets OpenCV's number of threads to 1 for the whole process; tables that never
 * change are filled once. */
#ifndef VISION_H
#define VISION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

struct vision_point {
    double x, y;
};

enum vision_status {
    VISION_OK,     /* the number may be used */
    VISION_UNSURE, /* a number is given, and something disagrees: see the reason */
    VISION_FAILED, /* no number: see the reason */
};

/* Why a photo was not simply "ok". Each has a short code (vision_reason_code) and, in src/, one
 * sentence for a person. */
enum vision_reason {
    VISION_REASON_NONE,
    /* the file */
    VISION_NO_FILE,         /* cannot be opened or read */
    VISION_EMPTY_FILE,      /* zero bytes */
    VISION_NOT_A_PHOTO,     /* neither JPEG nor PNG */
    VISION_HEIC_PHOTO,      /* HEIC/HEIF container: must be saved as JPEG */
    VISION_BROKEN_PHOTO,    /* damaged beyond use */
    VISION_TRUNCATED_PHOTO, /* ends too early */
    VISION_HUGE_PHOTO,      /* more pixels than may be, see VISION_MAX_PIXELS */
    VISION_TINY_PHOTO,      /* fewer pixels than a card needs */
    VISION_ANIMATED_PHOTO,  /* an animated PNG */
    VISION_DRAWN_PHOTO,     /* carries the mark of a picture with lines drawn in */
    VISION_NO_MEMORY,
    /* the card */
    VISION_NO_CARD,      /* no marker of any card */
    VISION_SHRUNK_PHOTO, /* no card, too little of one or too small, in fewer pixels than cameras
                            take */
    VISION_DARK_PHOTO,   /* no card or too little of one, and nearly all is dark */
    VISION_BURNT_PHOTO,  /* the same, and much is burnt out white */
    VISION_FEW_MARKERS,  /* fewer than three markers, or too clustered to carry a plane */
    VISION_MIXED_CARDS,  /* markers of several cards */
    VISION_BENT_CARD,    /* marker corners disagree with a flat card */
    VISION_SMALL_CARD,   /* too few pixels per millimetre */
    VISION_STEEP_VIEW,   /* obliquity beyond use */
    VISION_BAD_LIGHT,    /* window too dark, burnt out or uneven to tell the part */
    /* the part */
    VISION_NO_PART,        /* nothing in front of the window */
    VISION_NO_ARM,         /* something is there, no arm found in it */
    VISION_ARM_IN_SLOT,    /* the arm lies along the cut slot, where its edges cannot be told */
    VISION_ARM_ON_STRIPE,  /* a side runs along the edge of a stripe, which hides where it is */
    VISION_ARM_ON_SQUARE,  /* no arm found, but what hides a printed square may be one */
    VISION_NO_HOLE,        /* a disc none of whose holes is seen */
    VISION_DISC_BEYOND,    /* a disc or wheel whose middle lies beyond the card */
    VISION_BALL_ASKEW,     /* only balls tell a disc's arms, and the view slants */
    VISION_POOR_HOLES,     /* a disc's holes tell too little */
    VISION_SHORT_ARM,      /* arm edges too short */
    VISION_UNSURE_HUB,     /* which end of the arm is the hub cannot be told */
    VISION_EDGES_DISAGREE, /* the two edges of an arm tell different angles */
    VISION_UNSURE_PART,    /* outline only partly understood */
    VISION_POINTS_ONLY,    /* no edges where a person pointed: the line is that of the points */
    VISION_CARD_COLOURED,  /* the part has a colour of the card, so is poorly told from it */
    VISION_TWO_PARTS,      /* two parts before the card: which one is meant cannot be told */
    VISION_LEANING_CARD,   /* the spacing of the arms says that the card leans against the part */
    /* stickers */
    VISION_NO_STICKER,     /* no sticker of a crank in view */
    VISION_NO_FIXED,       /* neither a card nor a fixed sticker to measure it against */
    VISION_SAME_STICKERS,  /* two stickers of one name in view */
    VISION_SMALL_STICKER,  /* too few pixels */
    VISION_HIDDEN_STICKER, /* its sides cannot be followed, or do not fit a flat square */
    VISION_TILTED_STICKER, /* far from parallel to the card or fixed sticker */
    /* the lens */
    VISION_OTHER_LENS,  /* the profile belongs to photos of another camera, lens, zoom or size */
    VISION_OTHER_FOCAL, /* the caller's focal length is not the photo's */
    /* the reference */
    VISION_NO_EDGE,   /* no straight edge near the hint */
    VISION_TWO_EDGES, /* more than one, in different directions */
    VISION_THIN_LINE, /* what was found looks like a line drawn on one thing */
    VISION_NO_LINK,   /* no link or pushrod found */
    VISION_LINKS_ARM, /* the arm that the link hangs on could not be measured */
    VISION_BAD_HINT,  /* given points lie outside the photo or on each other */
    VISION_REASON_COUNT
};

/* Short code such as "no-card"; NULL for VISION_REASON_NONE and for values outside the enum. */
const char *vision_reason_code(enum vision_reason reason);

/* ---- The card: one description for printing and for finding ------------------------------- */

#define VISION_CARD_MAX_MARKERS 10
#define VISION_CARD_MAX_MARKS 8

enum vision_mark_kind {
    VISION_MARK_WHITE, /* patch of bare paper */
    VISION_MARK_GREY,  /* patch of sRGB 128 */
    VISION_MARK_DARK,  /* patch of sRGB 32 */
    VISION_MARK_NAME,  /* room for the card's name */
    VISION_MARK_BUTT,  /* strip along the butt edge */
};

/* A rectangle of the card that carries print other than tint or markers. Card frame, mm. */
struct vision_card_mark {
    enum vision_mark_kind kind;
    double x0_mm, y0_mm, x1_mm, y1_mm; /* x0 < x1, y0 < y1 */
};

/* A card. The whole face is tint except the markers with their quiet zone and the marks. */
struct vision_card {
    char name[24]; /* "hand-duo": size and tint */
    char size[12]; /* "hand" */
    char tint[12]; /* "duo" */
    double width_mm, height_mm;
    double marker_mm; /* side of the black square; quiet zone is 1/8 of it on each side */
    int marker_count;
    struct {
        int id; /* AprilTag 36h11, upright */
        struct vision_point centre_mm;
    } markers[VISION_CARD_MAX_MARKERS];
    int mark_count;
    struct vision_card_mark marks[VISION_CARD_MAX_MARKS];
    uint8_t tint_srgb[2][3];       /* alternate stripes; equal for a single tint */
    double stripe_mm;              /* width of a stripe, across */
    double stripe_deg;             /* direction along which stripes alternate, card frame */
    double stripe_cos, stripe_sin; /* of that direction */
    double slot_half_width_mm;     /* slot from the left edge to the centre, round end at (0,0) */
};

size_t vision_card_count(void);
/* The index-th card, NULL past the end. Static storage; never freed. */
const struct vision_card *vision_card_at(size_t index);
/* By name; NULL when there is none. */
const struct vision_card *vision_card_by_name(const char *name);
/* The card that carries marker id, and which of its markers; NULL when none does. */
const struct vision_card *vision_card_by_marker(int id, int *which);

/* Position across the stripes at a point of the card, in stripes: an even whole part is the first
 * tint, an odd one the second. */
double vision_card_stripe_at(const struct vision_card *card, struct vision_point at_mm);

/* A sticker: one marker with a pointer beside it, for a crank that no photo shows as a silhouette
 * (glued on the crank) or for something beside it that does not turn (fixed). Its frame is a
 * card's: origin in the middle of the marker, x towards the pointer. */
struct vision_sticker {
    char name[4];            /* "A12": letter and height; what is printed on it */
    bool fixed;              /* belongs on the frame or the servo case, not on a crank */
    double x0_mm, x1_mm;     /* left and right edge; the pointer fills what the marker leaves */
    struct vision_card face; /* its marker as a card of one; height_mm is the sticker's */
};

size_t vision_sticker_count(void);
/* The index-th sticker, NULL past the end. Static storage; never freed. */
const struct vision_sticker *vision_sticker_at(size_t index);
/* By name, or by its marker's id; NULL when there is none. */
const struct vision_sticker *vision_sticker_by_name(const char *name);
const struct vision_sticker *vision_sticker_by_marker(int id);
/* One more than the highest marker id that any sticker carries. */
int vision_sticker_id_end(void);

/* The marker in a picture that has lines drawn in: where it shows, nothing is measured, for the
 * lines would be taken for edges. It outlasts what messengers and galleries do to a file. The last
 * of its family, so beyond any that a card or sticker may come to carry. */
#define VISION_DRAWN_MARKER_ID 586

enum vision_print {
    VISION_PRINT_NONE, /* off the card */
    VISION_PRINT_TINT_A,
    VISION_PRINT_TINT_B,
    VISION_PRINT_BLACK, /* marker cell */
    VISION_PRINT_WHITE, /* marker cell or quiet zone */
    VISION_PRINT_MARK,
};
/* What is printed at a point of the card (card frame, mm). The slot is printed as tint. */
enum vision_print vision_card_print_at(const struct vision_card *card, struct vision_point at_mm);

/* ---- The photo ---------------------------------------------------------------------------- */

#define VISION_MAX_PIXELS 210000000.0 /* 210 megapixels: phones have 200; bounds memory */

struct vision_photo;

struct vision_photo_info {
    int width_px, height_px; /* as viewed */
    int orientation;         /* EXIF value 1 to 8; 1 when absent */
    double focal_px;         /* from EXIF 35 mm equivalent or focal plane resolution; 0 unknown */
    char camera[96];         /* EXIF make, model; "" unknown */
    double focal_mm;         /* EXIF focal length; 0 unknown */
};

/* Opens a JPEG or PNG. The file is read into memory whole (at most 512 MiB).
 * out is NULL on failure. Returns VISION_REASON_NONE or one of the file reasons; VISION_NO_FILE
 * leaves errno. The path is opened once, so that it may be a pipe. */
enum vision_reason vision_photo_open(const char *path, struct vision_photo **out);
/* The same for bytes already in memory (borrowed until vision_photo_free). */
enum vision_reason vision_photo_open_bytes(const uint8_t *bytes, size_t size,
                                           struct vision_photo **out);
void vision_photo_free(struct vision_photo *photo);
const struct vision_photo_info *vision_photo_get_info(const struct vision_photo *photo);
/* The file as it was read: a pipe gives its bytes only once. They are the photo's. */
const uint8_t *vision_photo_get_bytes(const struct vision_photo *photo, size_t *size);

/* A decoded piece of a photo, 8 bits per channel, sRGB-coded, rows top to bottom.
 * The centre of image pixel (i, j) lies at photo point
 *   x = x0_px + (i + 0.5) * reduce - 0.5,  y = y0_px + (j + 0.5) * reduce - 0.5. */
struct vision_image {
    int width, height, channels; /* channels 1 (grey) or 3 (R, G, B) */
    size_t stride;               /* bytes per row */
    uint8_t *pixels;             /* owned */
    int reduce;                  /* 1, 2, 4 or 8 photo pixels per image pixel */
    int x0_px, y0_px;            /* photo pixel of the top left image pixel's corner */
};

struct vision_rect {
    int x0, y0, x1, y1; /* photo pixels, x1 and y1 excluded */
};

/* Decodes at reduced size and/or part of a photo.
 * reduce    1, 2, 4 or 8: each image pixel is the mean of reduce x reduce photo pixels.
 * area      NULL for all; otherwise the result covers at least this area (clipped to the photo).
 * channels  1 or 3.
 * Alpha is laid over white; 16-bit and palette are converted. On failure out is zeroed.
 * Free with vision_image_clear. */
enum vision_reason vision_photo_decode(const struct vision_photo *photo, int reduce,
                                       const struct vision_rect *area, int channels,
                                       struct vision_image *out);
void vision_image_clear(struct vision_image *image);

/* ---- The lens ------------------------------------------------------------------------------ */

#define VISION_LENS_NAME 96
#define VISION_LENS_UNKNOWNS 5

/* A camera with one lens at one size of picture, as vision_lens_fit() finds it. A point that a lens
 * without distortion shows at centre_px + focal_px * d is shown at
 *   centre_px + focal_px * d * (1 + k1 |d|^2 + k2 |d|^4)
 * (Brown's radial terms, see struct vision_plane). Pixels are those of the sensor: the photo before
 * its EXIF orientation turns it. */
struct vision_lens {
    char name[VISION_LENS_NAME]; /* for people; goes into the result */
    int width_px, height_px;     /* of the sensor's picture */
    double focal_px;
    struct vision_point centre_px; /* where the lens' axis meets the picture */
    double k1, k2;
    /* 5 x 5, row-major: focal_px, centre_px.x, centre_px.y, k1, k2 */
    double cov[VISION_LENS_UNKNOWNS * VISION_LENS_UNKNOWNS];
};

/* Size of the sensor's picture: that of the photo, the other way round where EXIF turns it. */
void vision_sensor_size(const struct vision_photo_info *info, int *width_px, int *height_px);
/* From a point of the photo to that of the sensor's picture. */
struct vision_point vision_sensor_point(const struct vision_photo_info *info,
                                        struct vision_point photo_px);
/* Can this be a lens at all? Sizes and focal length within what cameras have, the distortion
 * growing outwards without folding the picture, a covariance that is one. */
bool vision_lens_is_sound(const struct vision_lens *lens);

/* ---- The measurement ---------------------------------------------------------------------- */

enum vision_reference_kind {
    VISION_REFERENCE_CARD,   /* the card's x axis */
    VISION_REFERENCE_EDGE,   /* a straight edge in the photo near hint[0]..hint[1], that way */
    VISION_REFERENCE_LINK,   /* the link or pushrod at the arm's tip */
    VISION_REFERENCE_POINTS, /* the line from hint[0] to hint[1], as given */
};

/* How far beside the end of an edge or the middle of a ball a person points in an image viewer:
 * standard uncertainty of a coordinate (judged). Where nothing marks the place, as the axis of a
 * hub or the end of an arm, twice as far. */
#define VISION_POINTED_PX 1.5

/* Photos from further aside are unsure. */
#define VISION_UNSURE_OBLIQUITY_DEG 45.0

struct vision_options {
    enum vision_reference_kind reference;
    struct vision_point hint_px[2]; /* for EDGE and POINTS; photo frame */
    bool have_arm_hint;             /* measure the arm from hub_hint_px to tip_hint_px */
    struct vision_point hub_hint_px, tip_hint_px;
    /* Not NULL: the points are places of a card that lies still in several photos, in pixels of the
     * one seen by this plane; all zeros: by this photo's own. Borrowed. */
    const struct vision_plane *hint_plane;
    double bar_scale_x, bar_scale_y; /* measured / nominal length of the print-check bars; 1 */
    double card_tilt_deg; /* standard uncertainty of the slope of card against arm, any way */
    double focal_px;      /* 0: from the lens, from EXIF, else estimated */
    const struct vision_lens *lens; /* NULL: unknown; borrowed */
    size_t threads;                 /* that may work on the photo at once; 1 */
};

/* Neutral options: card reference, no hints, true print. */
struct vision_options vision_options_default(void);

#define VISION_PLANE_UNKNOWNS 12

/* The way from card plane (mm) to photo (px): a homography, then the lens: with
 * d = (p - centre_px) / radius_px, p moves to
 *   centre_px + radius_px * d * (1 + k1 |d|^2 + k2 |d|^4).
 * That is the radial part of D. C. Brown, "Close-range camera calibration", Photogrammetric
 * Engineering 37 (1971), with distances in focal lengths when radius_px is one. */
struct vision_plane {
    double h[9];       /* row-major, mm to px, h[8] = 1 */
    double inverse[9]; /* px (of a lens without distortion) to mm */
    double k1, k2;     /* both 0: no distortion */
    struct vision_point centre_px;
    double radius_px;
    double cov[VISION_PLANE_UNKNOWNS * VISION_PLANE_UNKNOWNS]; /* h[0..7], k1, k2, centre x, y */
    double rms_px; /* of the residuals, per coordinate */
};

#define VISION_MAX_ARMS 8
#define VISION_MAX_BUDGET 12

/* What an angle's uncertainty is made of. Each is derived in docs/method.md, "Budget". */
enum vision_term {
    VISION_TERM_EDGE,
    VISION_TERM_PLANE,
    VISION_TERM_LENS,
    VISION_TERM_STRAIGHTNESS,
    VISION_TERM_TILT,
    VISION_TERM_FLATNESS,
    VISION_TERM_PRINT,
    VISION_TERM_REFERENCE,
    VISION_TERM_CORNERS,
    VISION_TERM_STICKER_TILT,
    VISION_TERM_SPACING,
    VISION_TERM_COUNT
};

/* Its name, such as "edge noise"; NULL outside the enum. */
const char *vision_term_name(enum vision_term term);

/* Where the same error strikes again: what averaging over photos can and cannot reduce. */
enum vision_scope {
    VISION_SCOPE_OWN,    /* this arm in this photo alone */
    VISION_SCOPE_PHOTO,  /* every arm of this photo */
    VISION_SCOPE_ARM,    /* this arm in every photo */
    VISION_SCOPE_CAMERA, /* every photo of this camera */
    VISION_SCOPE_PRINT,  /* every photo of this printed card */
    VISION_SCOPE_PLACE,  /* every photo while the card lies as it lies */
};

struct vision_budget_line {
    const char *name; /* static text, e.g. "edge noise" */
    double u_deg;
    char type;  /* 'A' or 'B' (JCGM 100, 4.2 and 4.3) */
    double dof; /* degrees of freedom of u_deg, >= 1 (JCGM 100, G.4) */
    enum vision_term term;
    enum vision_scope scope;
};

struct vision_arm {
    char name[4]; /* "A", "B", ... counter-clockwise from the reference; from a link's own arm */
    double angle_deg;     /* hub to tip against the reference, [0, 360) */
    double deviation_deg; /* from the nearest multiple of 90, (-45, 45] */
    double u_deg;         /* combined: root of the sum of squares of the budget */
    double length_mm;     /* hub to tip in the card plane (as if it lay on the card) */
    struct vision_point hub_px, tip_px;
    /* By how much the angle turns where the part's plane slopes against the card, towards the
     * camera along card x and y: degrees for a degree. VISION_TERM_TILT is card_tilt_deg times its
     * length, so photos from opposite sides are seen to cancel it. */
    double tilt_gain[2];
    int budget_count;
    struct vision_budget_line budget[VISION_MAX_BUDGET];
};

/* What the spacing of evenly made arms says of the card: docs/method.md, "What the arms say". */
enum vision_witness_verdict {
    VISION_WITNESS_AGREES, /* with a card parallel to the part */
    VISION_WITNESS_UNEVEN, /* arms not spaced evenly, and no lean of the card explains it */
    VISION_WITNESS_LEANS,  /* a lean of the card does, unless the arms were made that way */
};

/* A side of the card, as seen in the photo. */
enum vision_side {
    VISION_SIDE_UNKNOWN,
    VISION_SIDE_LEFT,
    VISION_SIDE_RIGHT,
    VISION_SIDE_TOP,
    VISION_SIDE_BOTTOM,
};

/* The side of the card that stands nearer to a part whose plane rises by slope_deg, towards the
 * camera along the card's x and y, from hub_mm outwards; a slope of nothing has none. */
enum vision_side vision_nearer_side(const struct vision_plane *plane, struct vision_point hub_mm,
                                    const double slope_deg[2]);

struct vision_witness {
    int spacing_deg; /* 60, 72, 90 or 120; 0: arms of no such part, and nothing below holds */
    enum vision_witness_verdict verdict;
    double chi_square; /* of the arms against even spacing, before a card that is parallel */
    int dof;
    double chi_square_leaning; /* before one that leans by slope_deg */
    int dof_leaning;
    int seen;                /* components of the slope that the arms can tell: 0 to 2 */
    double slope_deg[2];     /* of the part against the card, towards the camera along x and y */
    enum vision_side nearer; /* side of the card nearer to the part, known when seen is 2 */
};

struct vision_result {
    enum vision_status status;
    enum vision_reason reason;
    struct vision_photo_info photo;
    /* the card; NULL when none was found */
    const struct vision_card *card;
    double obliquity_deg;              /* between the view and the card's normal */
    double px_per_mm;                  /* at the card's centre */
    struct vision_point corners_px[4]; /* bottom left, bottom right, top right, top left */
    double residual_px;                /* rms of marker corners */
    int markers_found;
    struct vision_plane plane;   /* from the card to the photo and back */
    char lens[VISION_LENS_NAME]; /* name of the profile that was used; "" none */
    /* the reference */
    enum vision_reference_kind reference;
    double reference_deg; /* card frame, (-180, 180] */
    /* a stretch of it for drawing; with VISION_NO_EDGE the two points between which none was */
    struct vision_point reference_px[2];
    int arm_count;
    struct vision_arm arms[VISION_MAX_ARMS];
    int untold_arms; /* seen beside these, but not well enough to be measured, or beyond that many
                      */
    /* spaced: the arms of an even part told each other's angle; told holds the same arms, in no
     * order, as each tells its own, which is what several photos are put together from */
    bool spaced;
    struct vision_arm told[VISION_MAX_ARMS];
    struct vision_witness witness;
    /* of vision_measure_stickers alone: arms are then stickers, and their angles the directions of
     * their prints, which say nothing of the crank but how it turns from photo to photo */
    bool of_stickers;
    const struct vision_sticker *fixed; /* measured against; NULL: the card */
    struct vision_slope {
        double deg, u_deg; /* of the sticker against what it is measured against */
        /* What the camera's focal length and bending turn its direction by, were they off by one
         * standard uncertainty of what was known before the photo: signed, a part of u_deg of the
         * arm, and of one cause in all photos of a camera. */
        double lens_deg[2];
    } slopes[VISION_MAX_ARMS];
    double elapsed_ms;
};

/* Draws the arms of an evenly made part towards their spacing, by as much as each is told less well
 * than such parts are made: what vision_measure() does within one photo, for arms put together from
 * several. angle_deg, u_deg, tilt_gain and budget change, deviation_deg does not. Changes nothing
 * and returns false where there is no such spacing or the arms do not agree with it. One that is
 * told poorly and alone disagrees is left out, and doubted by as much as it stands out of line; of
 * two in line, one of which is told poorly, both are doubted, and false returned.
 * slope_cov  covariance of how the part's plane slopes against the card, degrees squared, 2 x 2 */
bool vision_space_arms(struct vision_arm *arms, int count, const double slope_cov[4]);

/* Measures a photo. out is always filled and owns nothing; its status says what may be used. */
void vision_measure(const struct vision_photo *photo, const struct vision_options *options,
                    struct vision_result *out);

/* Measures how each crank's sticker in a photo lies against the card or, where there is none, the
 * fixed sticker: the direction of its x axis in that one's plane, from both poses together. Only
 * *changes* of it between photos mean anything for the crank: deviation_deg is not set. arms are
 * named as the stickers are. Method: docs/method.md, "Stickers". Of options the reference and the
 * arm's hints do not count, and card_tilt_deg only where it is above what stickers have anyway. */
void vision_measure_stickers(const struct vision_photo *photo, const struct vision_options *options,
                             struct vision_result *out);

/* ---- Making a lens profile ------------------------------------------------------------------ */

#define VISION_VIEW_CORNERS (4 * VISION_CARD_MAX_MARKERS)

/* The corners of a card's markers in one photo. */
struct vision_card_view {
    struct vision_photo_info photo;
    int count;
    struct vision_point mm[VISION_VIEW_CORNERS];
    struct vision_point px[VISION_VIEW_CORNERS]; /* of the sensor */
    double half_width_mm, half_height_mm;        /* half the card's width and height */
};

/* Finds them, to a fraction of a pixel. options: print scale, and the lens as far as it is known.
 * Returns VISION_REASON_NONE or what a measurement would fail with; out is then unchanged. */
enum vision_reason vision_card_view(const struct vision_photo *photo,
                                    const struct vision_options *options,
                                    struct vision_card_view *out);

#define VISION_LENS_LEAST_VIEWS 8
#define VISION_LENS_MAX_VIEWS 64
#define VISION_LENS_GRID_X 8
#define VISION_LENS_GRID_Y 6

enum vision_lens_fault {
    VISION_LENS_FINE,
    VISION_LENS_FEW,       /* fewer than VISION_LENS_LEAST_VIEWS views */
    VISION_LENS_MIXED,     /* views of different sizes */
    VISION_LENS_PARALLEL,  /* all views from about the same direction */
    VISION_LENS_UNCERTAIN, /* focal length or distortion remain too uncertain */
    VISION_LENS_MISFIT,    /* one lens and a flat card do not explain the views */
    VISION_LENS_FAILED,    /* no solution */
};

/* What one view says about the lens. */
struct vision_lens_view {
    double rms_px;      /* what is left with the lens found from all views */
    double held_out_px; /* the same, with the lens found from all other views */
    /* By how much the card faces to the right and upwards in the photo, against the camera's axis:
     * positive when it was taken from the left and from below. */
    double lean_right_deg, lean_up_deg;
    double removed_deg; /* largest error of a direction on the card that the profile removes */
};

struct vision_lens_fit {
    struct vision_lens lens;              /* without a name */
    double rms_px, held_out_px, plain_px; /* over all views; plain_px: without any distortion */
    double u_focal_px, u_centre_px, u_k1, u_k2;
    double spread_deg; /* largest angle between the card's directions in two views */
    double covered;    /* share of the picture's fields that a corner fell into */
    bool field[VISION_LENS_GRID_Y][VISION_LENS_GRID_X]; /* rows from the top */
    double removed_deg;                                 /* the largest of all views */
    struct vision_lens_view views[VISION_LENS_MAX_VIEWS];
};

/* Lens of the camera that took these views (n at most VISION_LENS_MAX_VIEWS). With
 * VISION_LENS_MIXED and _FAILED only what can be told without a lens holds (covered, field), with
 * _PARALLEL, and with _FEW where spread_deg is above 0, also that and how the views lean, with
 * _UNCERTAIN, _MISFIT and _FINE everything. Method: docs/method.md, "The lens". */
enum vision_lens_fault vision_lens_fit(const struct vision_card_view *views, int n,
                                       struct vision_lens_fit *out);

/* ---- Plane geometry ------------------------------------------------------------------------ */

struct vision_point vision_plane_to_card(const struct vision_plane *plane, struct vision_point px);
struct vision_point vision_plane_to_photo(const struct vision_plane *plane, struct vision_point mm);

/* Direction of a straight line through n >= 2 points (total least squares).
 * direction_deg in (-90, 90]; u_deg from the scatter (0 for n = 2). false without a direction. */
bool vision_line_fit(const struct vision_point *points, int n, double *direction_deg,
                     double *u_deg);

#ifdef __cplusplus
}
#endif
#endif
