/* Times as job files and lens profiles have them: UTC, ISO 8601. */
#ifndef UTC_CLOCK_H
#define UTC_CLOCK_H

#include <stdbool.h>
#include <time.h>

#define UTC_TEXT 24 /* room for "2026-03-01T14:05:00Z" */

/* false when its year is not within 1970 to 9999; text is then unchanged. */
bool utc_text(time_t when, char text[UTC_TEXT]);

/* Whether text is what utc_text() writes. */
bool utc_is_text(const char *text);

#define UTC_SHOWN 24 /* room for "2026-03-01 14:05 UTC" */

/* For people, to the minute: "2026-03-01 14:05 UTC" from "2026-03-01T14:05:00Z", in text; any other
 * words, of a file from elsewhere, as they are. Either must outlive what is answered. */
const char *utc_shown(const char *at, char text[UTC_SHOWN]);

/* Now; or the time in SOURCE_DATE_EPOCH, where that is set and sound, so that documents can be made
 * again to the byte. */
void utc_now_text(char text[UTC_TEXT]);

/* Whether SOURCE_DATE_EPOCH, where it is set and not empty, is sound: whole seconds since 1970, up
 * to the year 9999. EXIT_DONE, or what fail_usage() returned. */
int utc_check_epoch(void);

#endif
