#include "base/mounts.h"
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static bool octal(char c, char most)
{
    return c >= '0' && c <= most;
}

/* The kernel writes blanks, backslashes and the like as a backslash and three octal digits. */
static void unescape(char *s)
{
    char *to = s;
    while (*s) {
        if (*s == '\\' && octal(s[1], '3') && octal(s[2], '7') && octal(s[3], '7')) {
            *to++ = (char)((s[1] - '0') * 64 + (s[2] - '0') * 8 + s[3] - '0');
            s += 4;
        } else {
            *to++ = *s++;
        }
    }
    *to = '\0';
}

bool mount_parse(char *line, struct mount *out)
{
    enum { ID, PARENT, DEVICE, ROOT, POINT, HOW, FIELDS };
    char *field[FIELDS], *word, *end;
    line[strcspn(line, "\n")] = '\0';
    for (int i = 0; i < FIELDS; i++)
        if ((field[i] = strsep(&line, " ")) == NULL)
            return false;
    do /* any number of further fields */
        word = strsep(&line, " ");
    while (word != NULL && strcmp(word, "-") != 0);
    out->type = strsep(&line, " ");
    if (strsep(&line, " ") == NULL || line == NULL) /* the source, then the options */
        return false;
    out->id = strtoull(field[ID], &end, 10);
    if (!octal(*field[ID], '9') || *end != '\0')
        return false;
    unescape(field[ROOT]);
    unescape(field[POINT]);
    out->root = field[ROOT];
    out->point = field[POINT];
    out->options = line;
    return true;
}

/* The next whole line; those that are too long are passed over. */
static bool next_line(FILE *in, char *line, int room)
{
    while (fgets(line, room, in)) {
        if (strchr(line, '\n') != NULL || feof(in))
            return true;
        for (int c = 0; c != '\n' && c != EOF;)
            c = getc(in);
    }
    return false;
}

bool mount_of(int fd, const char *mountinfo, struct mount *out)
{
    struct statx at;
    bool found = false;
    if (statx(fd, "", AT_EMPTY_PATH, STATX_MNT_ID, &at) != 0 || !(at.stx_mask & STATX_MNT_ID))
        return false;
    FILE *in = fopen(mountinfo, "re");
    while (in && !found && next_line(in, out->line, sizeof out->line))
        found = mount_parse(out->line, out) && out->id == at.stx_mnt_id;
    if (in)
        fclose(in);
    return found;
}

bool mount_option(const struct mount *m, const char *name, char *value, size_t room)
{
    size_t n = strlen(name);
    for (const char *at = m->options; *at; at += *at == ',') {
        size_t whole = strcspn(at, ",");
        if (whole >= n && strncmp(at, name, n) == 0 && (whole == n || at[n] == '=')) {
            size_t skip = whole == n ? n : n + 1;
            if (whole - skip >= room)
                return false;
            memcpy(value, at + skip, whole - skip);
            value[whole - skip] = '\0';
            unescape(value);
            return true;
        }
        at += whole;
    }
    return false;
}

int mount_open_upper(int fd, const struct mount *m)
{
    char link[64], here[PATH_MAX], upper[PATH_MAX], path[PATH_MAX];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t n = readlink(link, here, sizeof here - 1);
    if (n <= 0 || !mount_option(m, "upperdir", upper, sizeof upper) || upper[0] != '/')
        return -1;
    here[n] = '\0';
    size_t point = strcmp(m->point, "/") == 0 ? 0 : strlen(m->point);
    if (strncmp(here, m->point, point) != 0 || (here[point] != '\0' && here[point] != '/'))
        return -1;
    return snprintf(path, sizeof path, "%s%s%s", upper, m->root, here + point) < (int)sizeof path
               ? open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC)
               : -1;
}
