#include "program.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static void slurp(const char *path, char *text, size_t size)
{
    FILE *file = fopen(path, "rb");
    size_t n = file ? fread(text, 1, size - 1, file) : 0;
    text[n] = '\0';
    if (file)
        fclose(file);
}

void run_program(const char *arguments, struct run *run)
{
    char folder[] = "/tmp/armsquare-test-XXXXXX";
    char command[4096], out[64], err[64];
    *run = (struct run){.status = -1};
    if (!mkdtemp(folder))
        return;
    snprintf(out, sizeof out, "%s/out", folder);
    snprintf(err, sizeof err, "%s/err", folder);
    snprintf(command, sizeof command, "cd %s && '%s' %s >out 2>err", folder, PROGRAM, arguments);
    int result = system(command); /* NOLINT(cert-env33-c): the shell is the point */
    if (WIFEXITED(result))
        run->status = WEXITSTATUS(result);
    slurp(out, run->out, sizeof run->out);
    slurp(err, run->err, sizeof run->err);
    unlink(out);
    unlink(err);
    rmdir(folder);
}

bool run_says_one_sentence(const struct run *run)
{
    const char *end = strchr(run->err, '\n');
    return strncmp(run->err, "armsquare: ", 11) == 0 && end && end[1] == '\0';
}
