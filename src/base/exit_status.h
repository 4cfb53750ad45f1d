/* How the program and each of its commands ends. */
#ifndef EXIT_STATUS_H
#define EXIT_STATUS_H

enum exit_status {
    EXIT_DONE = 0,
    EXIT_TROUBLE = 1,  /* anything else: a full disk, no memory */
    EXIT_USAGE = 2,    /* wrong words on the command line */
    EXIT_UNUSABLE = 3, /* input that cannot be used or measured */
};

#endif
