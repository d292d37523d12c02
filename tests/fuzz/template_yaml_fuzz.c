/* Any bytes as any template file: the tree builder, the walker and the resolver, from memory.
 *
 * The first byte chooses the file they stand for. */
#include "base/text.h"
#include "template/load.h"
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const char practice[] = "name: P\nphone: 1\nemergency_phone: 2\n";
static const char form[] = "form: f\ntitle: F\nplace: visit\nitems:\n"
                           "  - {id: walking, label: Walks, kind: yesno}\n";
static const char triage[] = "asked_first: [walking]\n"
                             "rules: [{id: r, urgency: book, when: always, reason: R, source: S}]\n"
                             "emergency_words: E\nsame_day_words: S\nbook_words: B\n"
                             "unknown_words: U\n";
#define FILE_OF(path, text)                                                                        \
    {                                                                                              \
        path, text, sizeof(text) - 1                                                               \
    }

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static const char *const paths[] = {
        "practice.yaml", "forms/a.yaml",      "forms/b.yaml",       "measures.yaml",
        "supports.yaml", "proportions.yaml",  "triage.yaml",        "frames.yaml",
        "energy.yaml",   "checklists/a.yaml", "handouts/en/a.yaml", "stray.yaml",
    };
    struct template_file files[4] = {FILE_OF("practice.yaml", practice),
                                     FILE_OF("forms/a.yaml", form), FILE_OF("triage.yaml", triage)};
    if (size == 0)
        return 0;
    const char *path = paths[data[0] % (sizeof paths / sizeof *paths)];
    size_t at = 0; /* in place of the file of that name, else one more */
    while (at < 3 && strcmp(files[at].path, path) != 0)
        at++;
    files[at] = (struct template_file){path, (const char *)data + 1, size - 1};
    struct text lines;
    text_init(&lines, 1 << 20);
    struct template_report report = {.lines = &lines};
    struct template_set *set = template_load_files(files, at < 3 ? 3 : 4, &report);
    if ((set == NULL) != (report.count > 0) || (set == NULL) != (lines.len > 0))
        abort(); /* a set or a reason, never both, never neither */
    template_free(set);
    text_free(&lines);
    return 0;
}
