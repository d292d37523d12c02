/* Help, and what else is made from the table of commands: the manual's section and the completion.
 */
#include "base/text.h"
#include "base/utf8.h"
#include "command/args.h"
#include "command/run.h"
#include <ctype.h>
#include <string.h>

enum { HELP_COLUMNS = 80 };

static const struct {
    const char *name, *value, *help;
} options[] = {
    {"--data", "FOLDER", "the folder of the records (AMBLE_DATA)"},
    {"--config", "FOLDER", "the practice's own templates (AMBLE_TEMPLATES)"},
    {"--shipped", "FOLDER", "the templates the program came with"},
    {"--as", "INITIALS", "who writes; else who was last here"},
    {"--read-only", "", "write nothing"},
    {"--help", "", "this help"},
    {"--version", "", "the version of this program"},
};

/* Words of `s` in lines of at most HELP_COLUMNS, each indented. */
static void wrapped(FILE *out, int indent, const char *s)
{
    while (*s) {
        size_t n = utf8_fit(s, HELP_COLUMNS - indent);
        if (s[n])
            while (n > 0 && s[n] != ' ')
                n--;
        fprintf(out, "%*s%.*s\n", indent, "", (int)n, s);
        s += n;
        s += strspn(s, " ");
    }
}

static void overview(FILE *out)
{
    size_t count;
    const struct command *c = command_table(&count);
    fputs("amble [OPTION ...] [COMMAND [ARGUMENT ...]]\n\n", out);
    wrapped(out, 0,
            "The casebook of a veterinarian who does canine rehabilitation in people's "
            "homes. Without a command the screens open.");
    fputs("\nCommands\n", out);
    for (size_t i = 0; i < count; i++)
        fprintf(out, "  %-10s %s\n", c[i].name, c[i].help);
    fputs("\nOptions\n", out);
    for (size_t i = 0; i < sizeof options / sizeof options[0]; i++) {
        char name[32];
        snprintf(name, sizeof name, "%s %s", options[i].name, options[i].value);
        fprintf(out, "  %-18s %s\n", name, options[i].help);
    }
    fputs("\nMore about one command: amble help COMMAND\n"
          "Status: 0 done, 1 could not be done, 2 arguments that cannot be used\n",
          out);
}

static void one(FILE *out, const struct command *c)
{
    char usage[200];
    snprintf(usage, sizeof usage, "amble %s %s", c->name, c->args);
    wrapped(out, 0, usage);
    fprintf(out, "\n  %s\n", c->help);
    if (*c->text) {
        fputc('\n', out);
        wrapped(out, 2, c->text);
    }
}

/* ---- the manual ------------------------------------------------------------------------------ */

/* One token of an argument line as mdoc: "[" "]" "|" "--flag" "WORD" "word". */
static void mdoc_token(FILE *out, const char *s, size_t n)
{
    if (*s == '[' || *s == ']')
        fputs(*s == '[' ? " Oo" : " Oc", out);
    else if (*s == '|')
        fputs(" \\*(Ba", out);
    else if (n > 2 && strncmp(s, "--", 2) == 0)
        fprintf(out, " Fl \\-%.*s", (int)n - 2, s + 2);
    else if (*s == '.')
        fputs(" ...", out);
    else
        fprintf(out, " %s %.*s", isupper((unsigned char)*s) || memchr(s, '=', n) ? "Ar" : "Cm",
                (int)n, s);
}

static void mdoc_args(FILE *out, const char *s)
{
    while (*s) {
        size_t n = strchr("[]| ", *s) ? 1 : strcspn(s, "[]| ");
        if (*s != ' ')
            mdoc_token(out, s, n);
        s += n;
    }
}

/* Each sentence on its own line, lines short, options with real minus signs. */
static void mdoc_text(FILE *out, const char *s)
{
    enum { LINE_MOST = 76 };
    size_t column = 0;
    for (char before = ' '; *s; before = *s++) {
        bool minus = *s == '-' && (s[1] == '-' || before == '-');
        bool ends = *s == ' ' && (before == '.' || column + strcspn(s + 1, " ") > LINE_MOST);
        fputs(minus ? "\\" : "", out);
        fputc(ends ? '\n' : *s, out);
        column = ends ? 0 : column + 1;
    }
    fputc('\n', out);
}

/* The lists of options and of commands in amble(1). */
static void manual(FILE *out)
{
    size_t count;
    const struct command *c = command_table(&count);
    fputs(".Ss Options\n.Bl -tag -width Ds\n", out);
    for (size_t i = 0; i < sizeof options / sizeof options[0]; i++)
        fprintf(out, ".It Fl \\-%s%s%s\n%c%s.\n", options[i].name + 2,
                *options[i].value ? " Ar " : "", options[i].value,
                toupper((unsigned char)options[i].help[0]), options[i].help + 1);
    fputs(".El\n.Ss Commands\n.Bl -tag -width Ds\n", out);
    for (size_t i = 0; i < count; i++) {
        fprintf(out, ".It Ic %s", c[i].name);
        mdoc_args(out, c[i].args);
        fprintf(out, "\n%c%s.\n", toupper((unsigned char)c[i].help[0]), c[i].help + 1);
        if (*c[i].text)
            mdoc_text(out, c[i].text);
    }
    fputs(".El\n", out);
}

/* ---- completion for bash --------------------------------------------------------------------- */

static void option_names(FILE *out, const char *args)
{
    for (const char *s = args; (s = strstr(s, "--")) != NULL; s += 2)
        fprintf(out, "%s%.*s", s == strstr(args, "--") ? "" : " ", (int)strcspn(s, " ]"), s);
}

static void completion(FILE *out)
{
    size_t count;
    const struct command *c = command_table(&count);
    fputs("# Completion of amble for bash; made by \"amble help --bash\".\n"
          "_amble()\n{\n"
          "    local word=${COMP_WORDS[COMP_CWORD]} command= i\n"
          "    for ((i = 1; i < COMP_CWORD; i++)); do\n"
          "        case ${COMP_WORDS[i]} in\n"
          "        --data | --config | --shipped | --as) ((i++)) ;;\n"
          "        -*) ;;\n"
          "        *) command=${COMP_WORDS[i]}; break ;;\n"
          "        esac\n"
          "    done\n"
          "    case $command in\n    '') COMPREPLY=($(compgen -W '",
          out);
    for (size_t i = 0; i < count; i++)
        fprintf(out, "%s%s", i ? " " : "", c[i].name);
    for (size_t i = 0; i < sizeof options / sizeof options[0]; i++)
        fprintf(out, " %s", options[i].name);
    fputs("' -- \"$word\")) ;;\n", out);
    for (size_t i = 0; i < count; i++) {
        if (!strstr(c[i].args, "--"))
            continue;
        fprintf(out, "    %s) COMPREPLY=($(compgen -W '", c[i].name);
        option_names(out, c[i].args);
        fputs("' -- \"$word\")) ;;\n", out);
    }
    fputs("    esac\n}\ncomplete -o default -F _amble amble\n", out);
}

/* ---- the commands ---------------------------------------------------------------------------- */

int run_help(struct run *run, int argc, char **argv)
{
    bool mdoc = false, bash = false;
    const char *word = NULL;
    struct fault f = {0};
    const struct arg_flag flags[] = {{"--mdoc", .set = &mdoc}, {"--bash", .set = &bash}};
    struct args args = {.flags = flags, .flag_count = 2, .words = &word, .most = 1};
    if (!args_read(&args, argc, argv, &f))
        return say_usage(run, &f);
    const struct command *c = word ? command_find(word) : NULL;
    if (word && !c) {
        fail(&f, FAULT_INPUT, "there is no command \"%s\"", word);
        run->command = NULL;
        return say_usage(run, &f);
    }
    if (mdoc)
        manual(run->out);
    else if (bash)
        completion(run->out);
    else if (c)
        one(run->out, c);
    else
        overview(run->out);
    return COMMAND_DONE;
}

int run_version(struct run *run, int argc, char **argv)
{
    struct fault f = {0};
    struct args args = {0};
    if (!args_read(&args, argc, argv, &f))
        return say_usage(run, &f);
    fprintf(run->out, "amble %s\n", AMBLE_VERSION);
    return COMMAND_DONE;
}
