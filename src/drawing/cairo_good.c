#include "cairo_good.h"

#include <errno.h>

bool cairo_is_good(cairo_status_t status)
{
    switch (status) {
    case CAIRO_STATUS_SUCCESS:
        return true;
    case CAIRO_STATUS_NO_MEMORY:
        errno = ENOMEM;
        return false;
    case CAIRO_STATUS_INVALID_STRING:
        errno = EILSEQ;
        return false;
    case CAIRO_STATUS_WRITE_ERROR:
        if (errno == 0)
            errno = EIO;
        return false;
    default:
        errno = EIO;
        return false;
    }
}
