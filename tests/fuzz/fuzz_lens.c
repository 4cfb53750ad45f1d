/* Fuzz target: any bytes as a lens profile. What is taken must be a lens, and come back the same.
 */
#include "lens/lens_profile.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char problem[LENS_PROFILE_PROBLEM] = "";
    struct lens_profile profile, again;
    if (size > LENS_PROFILE_MOST_BYTES)
        return 0;
    if (!lens_profile_parse((const char *)data, size, &profile, problem)) {
        if (!*problem || problem[strlen(problem) - 1] != '.')
            abort();
        return 0;
    }
    json_t *json = lens_profile_to_json(&profile);
    char *text = json ? json_dumps(json, JSON_COMPACT | JSON_REAL_PRECISION(17)) : NULL;
    json_decref(json);
    if (!vision_lens_is_sound(&profile.lens) || !text ||
        !lens_profile_parse(text, strlen(text), &again, problem) ||
        again.lens.focal_px != profile.lens.focal_px || again.lens.k2 != profile.lens.k2)
        abort();
    free(text);
    return 0;
}
