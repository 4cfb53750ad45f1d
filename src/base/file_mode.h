/* Permissions of files and folders that are made private first and opened when they are finished,
 * as mkstemp and mkdtemp do: those that the caller's umask would have given. */
#ifndef FILE_MODE_H
#define FILE_MODE_H

#include <sys/types.h>

/* Reads the umask, the first time. It can only be read by setting it, for the whole process: call
 * this before the first thread starts, or files that other threads make meanwhile lack it. */
void file_mode_note_umask(void);

/* What the noted umask leaves of wanted (0666 for files, 0777 for folders). Notes it if nothing did
 * so before. Safe from several threads. */
mode_t file_mode(mode_t wanted);

#endif
