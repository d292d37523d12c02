#include "casebook/feed_inside.h"
#include "casebook_world.h"

/* Read lines; they must all be usable. The chart is of what was written last. */
static void fed(struct world *w, struct chart *c, const char *lines)
{
    struct text said;
    struct fed out;
    struct fault why = {0};
    text_init(&said, 10000);
    if (!feed_read(&w->cb, w->arena, "v.txt", lines, strlen(lines), NULL, &said, &out, &why))
        fail_msg("%s\n%s", why.text, said.s);
    text_free(&said);
    if (c != NULL)
        OK(chart_load(&w->cb, w->arena, out.entity, c, f));
}

/* Read lines; they must be refused with exactly these complaints, and leave no entry. */
static void not_fed(struct world *w, const char *lines, const char *complaints)
{
    struct text said;
    struct fed out;
    struct fault f = {0};
    uint64_t before = entries(w);
    text_init(&said, 10000);
    assert_false(feed_read(&w->cb, w->arena, "v.txt", lines, strlen(lines), NULL, &said, &out, &f));
    assert_string_equal(said.s, complaints);
    assert_int_equal(f.kind, FAULT_INPUT);
    assert_null(out.entity);
    text_free(&said);
    assert_int_equal(entries(w), before);
}

static const char whole_visit[] = "# a first visit\n"
                                  "practitioner MK Mara Kell\n"
                                  "\n"
                                  "call\n"
                                  "flag.breath: n\n"
                                  "flag.walks = no\n"
                                  "flag.moves = yes\n"
                                  "flag.urine=y\r\n"
                                  "call.caregiver_name = Ann Petrie\n"
                                  "call.dog_name = Biscuit\n"
                                  "call.breed = Dachshund\n"
                                  "call.onset = 2026-10-20 18:00\n"
                                  "book 24 Nov 14:00\n"
                                  "dog.born = 2020-03-01\n"
                                  "walking = n\n"
                                  "front_legs = sound\n"
                                  "skin = toes, hip bone\n"
                                  "story <<\n"
                                  "It began with a toe.\n"
                                  "\n"
                                  "  Then both = feet.\n"
                                  ">>\n"
                                  "hip_width = 13.1, 13.2\n"
                                  "withers_height.1 = 22.8\n"
                                  "withers_height.2 = 228 mm\n"
                                  "stance_length = 38,0; 38,2\n"
                                  "body_mass = 9.4, 9.4\n"
                                  "hip_width.so = yes\n"
                                  "support level\n"
                                  "thigh_depth = 9.0, 9.1\n"
                                  "axle 330 mm\n"
                                  "freeze\n"
                                  "teach bladder.blood done_back\n"
                                  "teach bladder.often told\n"
                                  "sign\n";

static void a_whole_visit_is_read(void **state)
{
    struct world *w = *state;
    struct chart c;
    fed(w, &c, whole_visit);
    assert_string_equal(author_initials(&w->cb, w->arena, w->cb.author), "MK");
    assert_string_equal(record_text(&c.call, "flag.breath"), "no");
    assert_string_equal(record_text(&c.call, "flag.urine"), "yes");
    assert_string_equal(record_text(&c.caregiver, ID_CAREGIVER_NAME), "Ann Petrie");
    assert_string_equal(record_text(&c.dog, ID_DOG_NAME), "Biscuit");
    assert_string_equal(record_text(&c.dog, ID_DOG_BORN), "2020-03-01");
    assert_string_equal(record_text(&c.visit, ID_VISIT_DAY), "2026-11-24T14:00");
    assert_string_equal(record_text(&c.visit, "skin"), "hip toes");
    assert_string_equal(record_text(&c.visit, "story"),
                        "It began with a toe.\n\n  Then both = feet.");
    assert_string_equal(record_text(&c.visit, "hip_width.1"), "131 mm");
    assert_string_equal(record_text(&c.visit, "hip_width.2"), "132 mm");
    assert_string_equal(record_text(&c.visit, "hip_width.so"), "yes");
    assert_string_equal(record_text(&c.visit, "withers_height.2"), "228 mm");
    assert_string_equal(record_text(&c.visit, "stance_length.1"), "380 mm");
    assert_string_equal(record_text(&c.visit, "stance_length.2"), "382 mm");
    assert_string_equal(record_text(&c.visit, ID_SUPPORT), "level");
    assert_string_equal(record_text(&c.visit, ID_FIT_FRAME), "level_small");
    assert_string_equal(record_text(&c.visit, ID_FIT_AXLE), "324 mm"); /* 0.85 of 381 mm */
    assert_non_null(strstr(record_text(&c.visit, ID_BUILD), "\"version\": 1"));
    assert_string_equal(record_text(&c.visit, "teach.bladder.blood"), "done_back");
    assert_true(record_signed(&c.visit));
    assert_string_equal(record_find(&c.visit, "walking")->author, w->cb.author);
}

static void who_was_here_is_remembered(void **state)
{
    struct world *w = *state;
    fed(w, NULL, "practitioner MK Mara Kell\ncall\n");
    const char *mk = arena_str(w->arena, w->cb.author);
    memset(w->cb.author, 0, sizeof w->cb.author);
    casebook_wake(&w->cb);
    assert_string_equal(w->cb.author, mk);
    fed(w, NULL, "practitioner MK\ncall\n"); /* initials that are known need no name */
    assert_string_equal(w->cb.author, mk);
}

static void records_are_found_again_by_name_and_day(void **state)
{
    struct world *w = *state;
    struct chart first, second, third;
    struct journal_counts before, after;
    fed(w, &first,
        "caregiver Ann Petrie\ncaregiver.phone = 01632 960111\n"
        "dog Biscuit\ndog.breed = Dachshund\nvisit 2026-11-24\nwalking = no\n");
    assert_string_equal(record_text(&first.dog, ID_CAREGIVER), first.caregiver.entity);
    assert_string_equal(record_text(&first.caregiver, ID_CAREGIVER_PHONE), "01632 960111");
    OK(journal_count(w->cb.journal, &before, f));
    fed(w, &second, "caregiver ann petrie\ndog Biscuit\nvisit 24.11.2026\nfront_legs = sound\n");
    OK(journal_count(w->cb.journal, &after, f));
    assert_int_equal(after.entities, before.entities);
    assert_string_equal(second.visit.entity, first.visit.entity);
    assert_string_equal(record_text(&second.visit, "walking"), "no");
    fed(w, &third, "dog Biscuit\nvisit tomorrow\n");
    assert_string_equal(third.dog.entity, first.dog.entity);
    assert_int_equal(third.visit_count, 2);
}

static void of_two_dogs_of_one_name_the_caregiver_decides(void **state)
{
    struct world *w = *state;
    struct chart a, b, c;
    fed(w, &a, "caregiver Ann Petrie\ndog Rex\n");
    fed(w, &b, "caregiver Bo Larsen\ndog Rex\n");
    assert_string_not_equal(a.dog.entity, b.dog.entity);
    fed(w, &c, "caregiver Ann Petrie\ndog Rex\n");
    assert_string_equal(c.dog.entity, a.dog.entity);
    not_fed(w, "dog Rex\n", "v.txt:1:5: 2 dogs are called Rex; name the caregiver first\n");
}

static void a_signed_visit_changes_with_a_reason(void **state)
{
    struct world *w = *state;
    struct chart c;
    fed(w, NULL, whole_visit);
    not_fed(w, "dog Biscuit\nvisit 24 Nov\nwalking = yes\n",
            "v.txt:3:1: the visit is signed: a change needs a reason\n");
    fed(w, &c, "dog Biscuit\nvisit 24 Nov\nreason misread\nwalking = yes\n");
    assert_string_equal(record_text(&c.visit, "walking"), "yes");
    assert_string_equal(record_find(&c.visit, "walking")->reason, "misread");
}

static void support_against_a_rule_needs_because(void **state)
{
    struct world *w = *state;
    struct chart c;
    not_fed(w, "dog Biscuit\nvisit 24 Nov\nneck_lesion = y\nsupport shoulder\n",
            "v.txt:4:9: rear frame, shoulder-loaded: forbidden (Nothing may press on the "
            "shoulders). Going against that needs a reason\n");
    fed(w, &c, "dog Biscuit\nvisit 24 Nov\nneck_lesion = y\nsupport shoulder because it healed\n");
    assert_string_equal(record_text(&c.visit, ID_SUPPORT_REASON), "it healed");
}

struct wrong {
    const char *lines, *complaints;
};

static void every_mistake_is_named_with_its_place(void **state)
{
    struct world *w = *state;
    static const struct wrong wrongs[] = {
        {"walks today\n", "v.txt:1:1: ITEM = VALUE or a statement is expected\n"},
        {"vist 24 Nov\n",
         "v.txt:1:1: ITEM = VALUE or a statement is expected; did you mean \"visit\"?\n"},
        {"= yes\n", "v.txt:1:1: ITEM = VALUE or a statement is expected\n"},
        {"walking = no\n", "v.txt:1:1: \"walking\" belongs to a visit, and none is open\n"},
        {"hip_width = 13\n", "v.txt:1:1: no visit is open: write visit and its day first\n"},
        {"sign\n", "v.txt:1:1: no visit is open: write visit and its day first\n"},
        {"call\nwlaking = no\n",
         "v.txt:2:1: item \"wlaking\" is not known; did you mean \"walking\"?\n"},
        {"call\n  flag.walks =  maybe\n", "v.txt:2:17: \"maybe\" is not yes, no or not known\n"},
        {"call\n# \xc3\xa9\n\xc3\xa9\xc3\xa9 = 1\n", "v.txt:3:1: item \"\xc3\xa9\xc3\xa9\" is not "
                                                     "known\n"},
        {"call now\n", "v.txt:1:6: nothing is expected after call\n"},
        {"call\ncall.age_years = 99\n",
         "v.txt:2:18: \"99\" is out of range: 0 to 30 is expected\n"},
        {"book tomorrow\n", "v.txt:1:6: there is no call to book a visit from\n"},
        {"visit 24 Nov\n", "v.txt:1:7: whose visit? Name the dog first, or book it from a call\n"},
        {"dog\n", "v.txt:1:4: the dog's name is expected\n"},
        {"caregiver \n", "v.txt:1:11: the caregiver's name is expected\n"},
        {"practitioner QQ\n",
         "v.txt:1:14: nobody has the initials QQ yet; write the name after them\n"},
        {"practitioner\n",
         "v.txt:1:13: initials and a name are expected, as in practitioner MK Mara Kell\n"},
        {"dog B\nvisit 24 Nov\nhip_width = 13.1, 131, 1\n",
         "v.txt:3:19: \"131\": no dog measures that; hip width is from 3.0 to 50.0 cm; was it 131 "
         "mm?\n"},
        {"dog B\nvisit 24 Nov\nhip_width = 13.1, 13.1, 13.2, 13.3\n",
         "v.txt:3:31: a measure has three readings at most\n"},
        {"dog B\nvisit 24 Nov\nhip_width.4 = 13.1\n",
         "v.txt:3:1: item \"hip_width.4\" is not known; did you mean \"hip_width\"?\n"},
        {"dog B\nvisit 24 Nov\nhip_width.so = perhaps\n", "v.txt:3:16: yes or no is expected\n"},
        {"dog B\nvisit 24 Nov\nsupport levl\n",
         "v.txt:3:9: support \"levl\" is not known; did you mean \"level\"?\n"},
        {"dog B\nvisit 24 Nov\nsupport level since it fits\n",
         "v.txt:3:15: because and a reason are expected, or nothing\n"},
        {"dog B\nvisit 24 Nov\naxle 340 mm\n", "v.txt:3:6: decide on a support first\n"},
        {"dog B\nvisit 24 Nov\nteach skin.lok told\n",
         "v.txt:3:7: point to teach \"skin.lok\" is not known; did you mean \"skin.look\"?\n"},
        {"dog B\nvisit 24 Nov\nteach skin.look often\n",
         "v.txt:3:17: told, shown or done_back is expected\n"},
        {"dog B\nvisit 24 Nov\nstory <<\nnever closed\n",
         "v.txt:3:1: this note is not closed: a line >> is expected\n"},
        {"dog B\nvisit 24 Nov\nsign\n",
         "v.txt:3:5: nobody is named at the keys: a practitioner signs\n"},
        {"dog B\nvisit 24 Nov\nhandout\n", "v.txt:3:8: nothing can be handed over from here\n"},
        {"at -3\n", "v.txt:1:4: only an invented practice says when it was written\n"},
        {"lend Blue\n", "v.txt:1:6: to which dog? Name it first\n"},
        {"dog B\nlend Blue\n", "v.txt:2:6: the practice has no frame called \"Blue\"\n"},
        {"equipment\n", "v.txt:1:10: the name that is written on the frame is expected\n"},
        {"call\ncall.phone = \xff\n", "v.txt:2:14: this is not UTF-8\n"},
        /* each line is looked at, and a start that fails is not complained of again below */
        {"vizit\ncall\nflag.walks = ja\nflag.urine = ne\n",
         "v.txt:1:1: ITEM = VALUE or a statement is expected; did you mean \"visit\"?\n"
         "v.txt:3:14: \"ja\" is not yes, no or not known\n"
         "v.txt:4:14: \"ne\" is not yes, no or not known\n"},
        {"visit someday\nwalking = no\nhip_width = 13.1\n",
         "v.txt:1:7: \"someday\" is not a time; write 9:30, 24 Nov 9:30, tomorrow 14:00 or 3 h "
         "ago\n"},
    };
    for (size_t i = 0; i < sizeof wrongs / sizeof *wrongs; i++)
        not_fed(w, wrongs[i].lines, wrongs[i].complaints);
}

static void twenty_complaints_are_enough(void **state)
{
    struct world *w = *state;
    struct text lines, said;
    struct fed out;
    struct fault f = {0};
    size_t newlines = 0;
    text_init(&lines, 10000);
    text_init(&said, 10000);
    for (int i = 0; i < 30; i++)
        text_add(&lines, "nonsense\n");
    assert_false(feed_read(&w->cb, w->arena, "v.txt", lines.s, lines.len, NULL, &said, &out, &f));
    for (const char *p = said.s; *p != '\0'; p++)
        newlines += *p == '\n';
    assert_int_equal(newlines, FEED_COMPLAINTS_MOST + 1);
    assert_non_null(strstr(said.s, "v.txt: and 10 more\n"));
    assert_int_equal(out.complaints, 30);
    text_free(&lines);
    text_free(&said);
}

static void one_bad_line_leaves_nothing_and_nobody_at_the_keys(void **state)
{
    struct world *w = *state;
    const struct practitioner *list;
    size_t n;
    not_fed(w, "practitioner MK Mara Kell\ncall\nflag.walks = perhaps\n",
            "v.txt:3:14: \"perhaps\" is not yes, no or not known\n");
    assert_string_equal(w->cb.author, "");
    OK(practitioners(&w->cb, w->arena, &list, &n, f));
    assert_int_equal(n, 0);
    fed(w, NULL, "practitioner MK Mara Kell\ncall\nflag.walks = yes\n"); /* and may be fed again */
}

static void odd_endings_and_bytes(void **state)
{
    struct world *w = *state;
    struct chart c;
    struct text said;
    struct fed out;
    struct fault f = {0};
    fed(w, &c,
        "\xef\xbb\xbf"
        "call\ncall.phone = 1 : 2 = 3"); /* BOM, no newline at the end */
    assert_string_equal(record_text(&c.call, ID_CALL_PHONE), "1 : 2 = 3");
    text_init(&said, 1000);
    assert_false(feed_read(&w->cb, w->arena, "v.txt", "call\0\n", 6, NULL, &said, &out, &f));
    assert_non_null(strstr(f.text, "zero byte"));
    assert_true(feed_read(&w->cb, w->arena, "v.txt", "", 0, NULL, &said, &out, &f));
    assert_null(out.entity);
    text_free(&said);
}

static void feeding_the_same_again_adds_nothing(void **state)
{
    struct world *w = *state;
    static const char lines[] = "caregiver Ann Petrie\ndog Biscuit\nvisit 24 Nov\nwalking = no\n"
                                "hip_width = 13.1, 13.2\n";
    fed(w, NULL, lines);
    uint64_t before = entries(w);
    fed(w, NULL, lines);
    assert_int_equal(entries(w), before);
}

static void every_statement_is_in_the_manual(void **state)
{
    char bytes[64 * 1024];
    FILE *man = fopen("man/amble.1", "rb");
    (void)state;
    assert_non_null(man);
    bytes[fread(bytes, 1, sizeof bytes - 1, man)] = '\0';
    (void)fclose(man);
    const char *lines = strstr(bytes, ".Sh WHAT ENTER READS");
    assert_non_null(lines);
    for (size_t i = 0; i < feed_statement_count; i++) {
        char row[64];
        (void)snprintf(row, sizeof row, ".It Ic %s", feed_statements[i].word);
        if (strstr(lines, row) == NULL)
            fail_msg("%s is not in the manual", feed_statements[i].word);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_statement_is_in_the_manual),
        TEST(a_whole_visit_is_read),
        TEST(who_was_here_is_remembered),
        TEST(records_are_found_again_by_name_and_day),
        TEST(of_two_dogs_of_one_name_the_caregiver_decides),
        TEST(a_signed_visit_changes_with_a_reason),
        TEST(support_against_a_rule_needs_because),
        TEST(every_mistake_is_named_with_its_place),
        TEST(twenty_complaints_are_enough),
        TEST(one_bad_line_leaves_nothing_and_nobody_at_the_keys),
        TEST(odd_endings_and_bytes),
        TEST(feeding_the_same_again_adds_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
