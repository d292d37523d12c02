#include "templates/cases.h"

static void loads(void **state)
{
    (void)state;
    struct text lines;
    text_init(&lines, 10000);
    struct template_report report = {.lines = &lines};
    struct template_set *set = template_load(GOOD, NULL, &report);
    if (set == NULL)
        fail_msg("%s", lines.s);
    template_free(set);
    text_free(&lines);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(loads)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
