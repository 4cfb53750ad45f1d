/* Files that are not finished yet: none is left behind when the program is stopped before its end
 * (Ctrl-C, a closed terminal or pipe, kill; not kill -9 or a power cut). */
#ifndef DRAFTS_H
#define DRAFTS_H

/* mkstemp() of a draft that is removed if the program is stopped. place ends in XXXXXX, lies on the
 * heap, stays where it is and is given back by drafts_forget(). The descriptor, or -1 and errno;
 * place is then the caller's to free. Safe from several threads. */
int drafts_make(char *place);
/* The draft has its name or is removed: frees place. NULL does nothing. */
void drafts_forget(char *place);

#endif
