/* The published AprilTag 36h11 marker family, for printing and for checking prints. */
#ifndef TAG36H11_H
#define TAG36H11_H

#include <stdbool.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

#define TAG36H11_COUNT 587
#define TAG36H11_CELLS 10 /* with the white quiet zone; 8 from black edge to black edge */

/* One cell of an upright tag. row 0 is the top, column 0 the left; rows and columns 0 and 9 are
 * the quiet zone. An id or cell outside the family is not white. */
bool tag36h11_cell_is_white(int id, int row, int column);

#ifdef __cplusplus
}
#endif
#endif
