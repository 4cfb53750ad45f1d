/* The inch, exact since 1959, and the point of typography that is measured by it. */
#ifndef INCH_H
#define INCH_H

#define MM_PER_INCH 25.4
#define MM_PER_POINT (MM_PER_INCH / 72) /* PDF's and cairo's: ISO 32000-1, 8.3.2.3 */

#endif
