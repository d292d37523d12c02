#include "command/run.h"
#include "base/arena.h"
#include "base/utf8.h"
#include "output/print.h"
#include <errno.h>
#include <stdarg.h>
#include <string.h>

enum { LINE_MAX_BYTES = 256 * 1024 };

void say(FILE *out, const char *format, ...)
{
    struct text made, shown;
    text_init(&made, LINE_MAX_BYTES);
    text_init(&shown, LINE_MAX_BYTES);
    va_list args;
    va_start(args, format);
    text_vaddf(&made, format, args);
    va_end(args);
    utf8_show(&shown, made.s, true);
    fputs(shown.s, out);
    text_free(&made);
    text_free(&shown);
}

int say_fault(const struct run *run, const struct fault *f)
{
    say(run->err, "amble: %s\n", f->text);
    return COMMAND_FAILED;
}

int say_usage(const struct run *run, const struct fault *f)
{
    const char *name = run->command ? run->command : "";
    say(run->err, "amble%s%s: %s\nMore: amble help%s%s\n", *name ? " " : "", name, f->text,
        *name ? " " : "", name);
    return COMMAND_USAGE;
}

int say_bytes(const struct run *run, const char *bytes, size_t n)
{
    struct fault f = {0};
    if (fwrite(bytes, 1, n, run->out) == n && fflush(run->out) == 0)
        return COMMAND_DONE;
    fail(&f, FAULT_SYSTEM, "cannot write the output: %s", strerror(errno));
    return say_fault(run, &f);
}

int say_or_save(const struct run *run, const char *path, bool replace, const char *bytes, size_t n)
{
    struct fault f = {0};
    if (path == NULL)
        return say_bytes(run, bytes, n);
    if (!save_file(path, bytes, n, replace, &f))
        return say_fault(run, &f);
    say(run->err, "saved as %s\n", path);
    return COMMAND_DONE;
}

/* ---- records --------------------------------------------------------------------------------- */

bool run_open(struct run *run, enum journal_mode mode)
{
    struct fault f = {0};
    bool open = setting_open(&run->setting, mode, &run->cb, &f);
    if (run->setting.messages.len > 0)
        say(run->err,
            "%samble: the practice's templates are left out until this is mended; the shipped ones "
            "are in use\n",
            run->setting.messages.s);
    if (!open)
        say_fault(run, &f);
    return open;
}

bool run_chart(struct run *run, const char *said, struct chart *out, struct fault *f)
{
    const char *entity = NULL;
    return run_resolve(run, said, &entity, f) && chart_load(&run->cb, run->arena, entity, out, f);
}
