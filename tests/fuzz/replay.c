/* A fuzz target's main for ordinary compilers: feeds it its stored inputs, one TAP line each.
 * `ROOM_what_fuzz` reads tests/fuzz/corpus/ROOM_what/; further files may be named as arguments. */
#include <dirent.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { LARGEST = 1 << 20 };

static int replay(const char *path)
{
    static uint8_t data[LARGEST];
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        printf("not ok - cannot read %s\n", path);
        return 1;
    }
    size_t size = fread(data, 1, sizeof data, file);
    (void)fclose(file);
    /* An exact copy, so that a sanitizer sees the first byte read beyond the end. */
    uint8_t *exact = malloc(size > 0 ? size : 1);
    if (exact == NULL)
        return 1;
    memcpy(exact, data, size);
    (void)LLVMFuzzerTestOneInput(exact, size);
    free(exact);
    printf("ok - %s\n", path);
    return 0;
}

int main(int argc, char **argv)
{
    const char *name = strrchr(argv[0], '/');
    name = name == NULL ? argv[0] : name + 1;
    const char *suffix = strstr(name, "_fuzz");
    int length = suffix == NULL ? (int)strlen(name) : (int)(suffix - name);
    char folder[512], path[1024];
    (void)snprintf(folder, sizeof folder, "tests/fuzz/corpus/%.*s", length, name);

    int failed = 0;
    for (int i = 1; i < argc; i++)
        failed += replay(argv[i]);
    DIR *d = opendir(folder);
    for (const struct dirent *e; d != NULL && (e = readdir(d)) != NULL;) {
        if (e->d_name[0] == '.')
            continue;
        (void)snprintf(path, sizeof path, "%s/%s", folder, e->d_name);
        failed += replay(path);
    }
    if (d != NULL)
        (void)closedir(d);
    else if (argc < 2)
        printf("not ok - no stored inputs in %s\n", folder);
    return failed > 0 || (d == NULL && argc < 2);
}
