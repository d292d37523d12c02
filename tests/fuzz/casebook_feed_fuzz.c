/* Any bytes as a piped visit: read whole or refused with words that act on nothing, and what was
 * read shows safely too. The record lives in memory as long as the program runs; each input is
 * taken back. */
#include "base/arena.h"
#include "base/text.h"
#include "casebook/feed.h"
#include "kit.h"

static struct casebook *practice(void)
{
    static struct casebook cb;
    struct fault f = {0};
    struct text lines;
    if (cb.journal != NULL)
        return &cb;
    text_init(&lines, 1 << 16);
    struct template_report report = {.lines = &lines};
    cb.set = template_load("tests/unit/casebook_set", NULL, &report);
    text_free(&lines);
    must(cb.set != NULL && journal_open(&cb.journal, scratch_folder(), JOURNAL_WRITE, &f));
    return &cb;
}

/* Every finding of what was fed is one that a terminal may be shown. */
static void look(struct casebook *cb, struct arena *a, const char *entity)
{
    struct record r;
    struct fault f = {0};
    struct text shown;
    text_init(&shown, 1 << 20);
    must(record_load(cb, a, entity, &r, &f));
    for (size_t i = 0; i < r.count; i++) {
        must(utf8_valid(r.findings[i].text, strlen(r.findings[i].text), NULL));
        text_clear(&shown);
        utf8_show(&shown, finding_show(cb->set, r.findings[i].item, r.findings[i].text, a), false);
        must(utf8_plain(shown.s, false));
    }
    text_free(&shown);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct casebook *cb = practice();
    struct arena *a = arena_new();
    struct fault f = {0};
    struct fed fed = {0};
    struct text said;
    text_init(&said, 1 << 20);
    must(casebook_begin(cb, &f));
    if (feed_read(cb, a, "typed", (const char *)data, size, NULL, &said, &fed, &f)) {
        must(said.len == 0);
        if (fed.entity != NULL)
            look(cb, a, fed.entity);
    } else {
        must(f.text[0] != '\0' && utf8_valid(said.s, said.len, NULL));
    }
    casebook_rollback(cb);
    cb->spoilt = false;
    cb->author[0] = '\0';
    text_free(&said);
    arena_free(a);
    return 0;
}
