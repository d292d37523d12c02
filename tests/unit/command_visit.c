/* A call and a visit from the shell alone, on a folder that is thrown away. */
#include "command_shell.h"
#include <sqlite3.h>

static const char visit[] = "practitioner MK Mara Kell\n"
                            "call\n"
                            "call.phone = 01632 960777\n"
                            "call.caregiver_name = Ann Petrie\n"
                            "call.address = 12 Quarry Lane\n"
                            "call.dog_name = Biscuit\n"
                            "call.breed = Dachshund\n"
                            "flag.breathing = n\n"
                            "caregiver Ann Petrie\n"
                            "caregiver.address = 12 Quarry Lane\n"
                            "dog Biscuit\n"
                            "dog.breed = Dachshund\n"
                            "dog.mass = 9.4 kg\n"
                            "visit 24 Nov\n"
                            "hip_width = 13.1, 13.2\n"
                            "story = Zoë says: slipped, then \x1b[2J dragged\n";

static void enter_visit(void)
{
    /* The journal keeps what was typed; a control character is for the sheets to make harmless. */
    done(amble(visit, "enter", NULL));
    has(last.out, "findings kept; look at them with: amble show ");
}

static void what_was_entered_is_shown(void **state)
{
    (void)state;
    enter_visit();
    done(amble("", "show", "Biscuit", NULL));
    has(last.out, "Biscuit");
    has(last.out, "Dachshund");
    has(last.out, "[MK, Tue 24 Nov 2026 09:30]");
    has(last.out, "<U+001B>[2J");
    has(last.out, "13.1");
    has_not(last.out, "\x1b");
    done(amble("", "show", "biscuit", NULL));
    assert_int_equal(amble("", "show", "Rex", NULL), COMMAND_FAILED);
    has(last.err, "no dog is called \"Rex\"");
}

/* The story of one item, and all that was changed: to read, and for the printer. */
static void a_history_is_shown_and_printed(void **state)
{
    (void)state;
    enter_visit();
    done(amble("", "paper", "history", "Biscuit", "hip_width.1", NULL));
    has(last.out, "History of one finding");
    has(last.out, "- 13.1 cm  [MK, Tue 24 Nov 2026 09:30]");
    done(amble("", "print", "Biscuit", "--history", "hip_width.1", "--preview", NULL));
    has(last.out, "- 13.1 cm  [MK, Tue 24 Nov 2026 09:30]");
    has(last.out, "page 1 of 1");
    done(amble("", "paper", "history", "Biscuit", NULL));
    has(last.out, "What was changed");
    assert_int_equal(amble("", "paper", "history", "Biscuit", "unheard", NULL), COMMAND_FAILED);
    has(last.err, "nothing called \"unheard\" was entered there");
    assert_int_equal(amble("", "paper", "record", "Biscuit", "goals", NULL), COMMAND_USAGE);
    has(last.err, "\"goals\" is one word too many");
    assert_int_equal(amble("", "print", "Biscuit", "--history", "goals", "--handout", "care", NULL),
                     COMMAND_USAGE);
    has(last.err, "two different sheets");
}

static json_t *parsed(void)
{
    json_error_t error;
    json_t *root = json_loads(last.out, JSON_REJECT_DUPLICATES, &error);
    if (!root)
        fail_msg("%d:%d: %s\n%s", error.line, error.column, error.text, last.out);
    return root;
}

/* The finding of an item in one record of `show --json`. */
static json_t *finding(json_t *root, const char *record, const char *item)
{
    json_t *findings = json_object_get(json_object_get(root, record), "findings"), *each;
    size_t i;
    json_array_foreach(findings, i,
                       each) if (strcmp(json_string_value(json_object_get(each, "item")), item) ==
                                 0) return each;
    fail_msg("no %s in %s", item, last.out);
    return NULL;
}

static void json_says_who_when_and_what_was_replaced(void **state)
{
    (void)state;
    enter_visit();
    done(amble("dog Biscuit\ndog.mass = 9.50 kg\n", "enter", NULL));
    done(amble("", "show", "Biscuit", "--json", NULL));
    json_t *root = parsed();
    json_t *mass = finding(root, "dog", "dog.mass");
    json_t *value = json_array_get(json_object_get(mass, "values"), 0);
    assert_int_equal(json_array_size(json_object_get(mass, "values")), 1);
    assert_true(json_is_false(json_object_get(mass, "conflict")));
    assert_string_equal(json_string_value(json_object_get(value, "value")), "9.50 kg");
    assert_string_equal(json_string_value(json_object_get(value, "unit")), "kg");
    assert_string_equal(json_string_value(json_object_get(value, "by")), "MK");
    assert_string_equal(json_string_value(json_object_get(value, "at")), "2026-11-24T09:30");
    assert_int_equal(json_array_size(json_object_get(value, "replaces")), 1);
    has(last.out, "\"number\": 9.50"); /* digit for digit */
    json_decref(root);
}

static void short_ids_lead_to_records(void **state)
{
    (void)state;
    enter_visit();
    done(amble("", "list", "visits", "--json", NULL));
    json_t *root = parsed();
    assert_int_equal(json_array_size(root), 1);
    const char *id = json_string_value(json_object_get(json_array_get(root, 0), "id"));
    char start[9];
    snprintf(start, sizeof start, "%s", id);
    done(amble("", "show", start, NULL));
    has(last.out, "Biscuit");
    done(amble("", "show", id, NULL));
    start[3] = '\0'; /* too short to mean one */
    assert_int_equal(amble("", "show", start, NULL), COMMAND_FAILED);
    json_decref(root);
    done(amble("", "list", NULL));
    has(last.out, "Biscuit, Dachshund");
    done(amble("", "list", "calls", NULL));
    has(last.out, "Biscuit");
    done(amble("", "find", "quarry", NULL));
    has(last.out, "12 Quarry Lane");
    done(amble("", "find", "biskuit", "--json", NULL));
    has(last.out, "\"text\": \"Biscuit\"");
    assert_int_equal(amble("", "find", "zzzzzzzz", NULL), COMMAND_FAILED);
    has(last.err, "Nothing is known of \"zzzzzzzz\"");
}

static void two_dogs_of_one_name_are_not_guessed(void **state)
{
    (void)state;
    enter_visit();
    done(amble("caregiver Bob Ash\ndog Biscuit\ndog.breed = Boxer\n", "enter", NULL));
    assert_int_equal(amble("", "show", "Biscuit", NULL), COMMAND_FAILED);
    has(last.err, "more than one record is meant by \"Biscuit\": ");
}

static void a_wrong_line_keeps_everything_out(void **state)
{
    (void)state;
    assert_int_equal(
        amble("practitioner MK Mara Kell\ncaregiver Ann\ndog Rex\ndog.mas = 9 kg\n", "enter", NULL),
        COMMAND_FAILED);
    has(last.err, "standard input:4:1:");
    has(last.err, "dog.mass");
    assert_int_equal(amble("", "show", "Rex", NULL), COMMAND_FAILED);
    write_file("visit.txt", "dog.mas = 9 kg\n");
    assert_int_equal(amble("", "enter", in_folder("visit.txt"), NULL), COMMAND_FAILED);
    has(last.err, "visit.txt:1:");
    assert_int_equal(amble("", "enter", in_folder("none.txt"), NULL), COMMAND_FAILED);
    has(last.err, "none.txt\": No such file");
    assert_int_equal(amble("", "enter", folder, NULL), COMMAND_FAILED);
}

static void the_sheet_has_what_may_never_be_left_out(void **state)
{
    (void)state;
    enter_visit();
    done(amble("", "sheet", "Biscuit", NULL));
    has(last.out, "Biscuit");
    has(last.out, "does not replace the vet");
    has(last.out, "01632 960155"); /* the emergency number of the shipped practice */
    char *text = strdup(last.out);
    done(amble("", "sheet", "Biscuit", "--save", in_folder("care.txt"), NULL));
    assert_string_equal(slurp("care.txt"), text); /* the same, byte for byte */
    assert_int_equal(amble("", "sheet", "Biscuit", "--save", in_folder("care.txt"), NULL),
                     COMMAND_FAILED);
    done(amble("", "sheet", "Biscuit", "--save", in_folder("care.txt"), "--replace", NULL));
    free(text);
    assert_int_equal(amble("", "sheet", "Biscuit", "--handout", "none", NULL), COMMAND_FAILED);
    has(last.err, "no handout \"none\"");
}

/* As the screen hands over: the text is in the record, and stays when the record goes on. */
static void a_line_hands_the_sheet_over(void **state)
{
    (void)state;
    enter_visit();
    done(amble("dog Biscuit\nvisit 24 Nov\nhandout\ntoday_plan = later words\n", "enter", NULL));
    done(amble("", "paper", "record", "Biscuit", NULL));
    has(last.out, "Handed over (care, as it was kept)");
    const char *kept = strstr(last.out, "Handed over (care");
    assert_null(strstr(kept, "later words"));
    assert_int_equal(amble("dog Biscuit\nvisit 24 Nov\nhandout none\n", "enter", NULL),
                     COMMAND_FAILED);
    has(last.err, "no handout \"none\"");
}

/* Every entry of the invented practice claims the day it tells of. */
static void the_demo_was_written_on_its_days(void **state)
{
    (void)state;
    done(amble("", "demo", "contrib/demo", NULL));
    done(amble("", "show", "Bruno", NULL));
    has(last.out, "[MK, Mon 6 Apr 2026 17:00]");  /* the caregiver, when she rang */
    has(last.out, "[MK, Thu 22 Oct 2026 10:00]"); /* the last visit */
    assert_null(strstr(last.out, "24 Nov"));
}

static void a_question_of_the_practice_reaches_record_and_sheet(void **state)
{
    (void)state;
    write_file("overlay/forms/extra.yaml", "add_to: history\n"
                                           "items:\n"
                                           "  - id: favourite_walk\n"
                                           "    label: Favourite walk\n"
                                           "    kind: text\n"
                                           "    on_sheet: yes\n"
                                           "    sheet_label: Keep up the walk\n");
    enter_visit();
    done(amble("caregiver Ann Petrie\ndog Biscuit\nvisit 24 Nov\nfavourite_walk = the ca\u00f1on\n",
               "enter", NULL));
    done(amble("", "show", "Biscuit", NULL));
    has(last.out, "Favourite walk: the ca\u00f1on\n");
    done(amble("", "show", "Biscuit", "--json", NULL));
    has(last.out, "\"label\": \"Favourite walk\"");
    done(amble("", "sheet", "Biscuit", NULL));
    has(last.out, "Keep up the walk: the ca\u00f1on");
    done(amble("", "sheet", "Biscuit", "--ascii", NULL));
    has(last.out, "Keep up the walk: the canon");
}

static void broken_templates_are_told_and_left_out(void **state)
{
    (void)state;
    write_file("overlay/forms/extra.yaml", "add_to: histroy\nitems: []\n");
    enter_visit();
    has(last.err, "extra.yaml:1:");
    has(last.err, "the shipped ones are in use");
    assert_int_equal(amble("", "check", NULL), COMMAND_FAILED);
    has(last.out, "templates  mistakes");
    unlink(in_folder("overlay/forms/extra.yaml"));
    done(amble("", "check", NULL));
    has(last.out, "templates  fine");
    has(last.out, "1 dog,");
    has(last.out, "conflicts  0");
    done(amble("", "check", "--json", NULL));
    json_decref(parsed());
}

static void printing_goes_through_lp(void **state)
{
    (void)state;
    char path[4500];
    const char *old = getenv("PATH");
    enter_visit();
    write_file("lp", "#!/bin/sh\necho \"$@\" >$FOLDER/argv\ncat >$FOLDER/job\n");
    assert_int_equal(chmod(in_folder("lp"), 0700), 0);
    snprintf(path, sizeof path, "%s:%s", folder, old);
    char *keep = strdup(old);
    setenv("PATH", path, 1);
    done(amble("", "print", "Biscuit", "--to", "hall", NULL));
    has(last.out, "sent to queue hall: ");
    has(slurp("argv"), "-d hall -t ");
    has(slurp("job"), "In an emergency ring 01632 960155. Biscuit, Tue 24 Nov 2026 ");
    has(slurp("job"), "page 1 of ");
    has(slurp("job"), "\f");
    done(amble("", "print", "Biscuit", "--preview", NULL));
    has(last.out, "page 1 of ");
    has_not(last.out, "\f");
    done(amble("", "print", "Biscuit", "--history", "hip_width.1", NULL));
    has(slurp("job"), "- 13.1 cm  [MK, Tue 24 Nov 2026 09:30]");
    write_file("lp", "#!/bin/sh\necho 'no such queue' >&2\nexit 1\n");
    assert_int_equal(amble("", "print", "Biscuit", NULL), COMMAND_FAILED);
    has(last.err, "the printer refused the sheet: no such queue");
    setenv("PATH", keep, 1);
    free(keep);
}

static void a_red_flag_makes_a_referral(void **state)
{
    (void)state;
    enter_visit();
    assert_int_equal(amble("", "referral", "none", NULL), COMMAND_FAILED);
    done(amble("call\ncall.phone = 01632 960778\ncall.dog_name = Rex\nflag.breathing = y\n",
               "enter", "--json", NULL));
    json_t *root = parsed();
    done(amble("", "referral", json_string_value(json_object_get(root, "id")), NULL));
    has(last.out, "Referral note");
    has(last.out, "Call: emergency");
    has(last.out, "A veterinarian decides");
    json_decref(root);
    done(amble("", "referral", "rex", "--ascii", NULL)); /* known from the call only */
    has(last.out, "Call: emergency");
    done(amble("", "today", NULL));
    has(last.out, "Rex");
    done(amble("", "today", "--json", NULL));
    json_decref(parsed());
}

static void records_are_read_again_and_copied(void **state)
{
    (void)state;
    enter_visit();
    done(amble("", "verify", NULL));
    has(last.out, "entries read again: each is what was written");
    done(amble("", "backup", in_folder("copy.db"), NULL));
    struct stat st;
    assert_int_equal(stat(in_folder("copy.db"), &st), 0);
    assert_int_equal(st.st_mode & 0777, 0600);
}

static void with_sql(const char *path, const char *sql)
{
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, sql, NULL, NULL, NULL), SQLITE_OK);
    sqlite3_close(db);
}

/* As the version before left it: what differs is a trigger. */
static void make_older(const char *path)
{
    with_sql(path, "CREATE TRIGGER entry_no_replace BEFORE INSERT ON entry"
                   " WHEN EXISTS (SELECT 1 FROM entry WHERE id = NEW.id)"
                   " BEGIN SELECT RAISE(ABORT, 'entries are never replaced'); END;"
                   "PRAGMA user_version = 3");
}

/* Into a folder of its own: 0 or 1, and what is there stays. */
static int restored_beside(const char *copy)
{
    char *words[] = {"amble", "--data", (char *)(uintptr_t)in_folder("beside"), "restore",
                     (char *)(uintptr_t)copy};
    size_t out_n, err_n;
    forget();
    FILE *in = fopen("/dev/null", "re"), *out = open_memstream(&last.out, &out_n),
         *err = open_memstream(&last.err, &err_n);
    last.status = command_run(5, words, in, out, err);
    fclose(in);
    fclose(out);
    fclose(err);
    remove_tree(in_folder("beside"));
    return last.status;
}

/* What can be told of it is told, what cannot is not passed off as checked. */
static void an_older_copy_is_told_for_what_it_is(void **state)
{
    char copy[160];
    (void)state;
    enter_visit();
    snprintf(copy, sizeof copy, "%s", in_folder("copy.db"));
    done(amble("", "backup", copy, NULL));
    done(amble("", "verify", copy, NULL));
    has(last.out, "read: each is what was written");
    make_older(copy);
    assert_int_equal(amble("", "verify", copy, NULL), COMMAND_FAILED);
    assert_string_equal(last.out, "");
    has(last.err, "was made by an older amble: the file is sound");
    has(last.err, "whether each entry is what was written cannot be told from it as it is");
    has(last.err, "restore it into an empty folder");
    assert_int_equal(restored_beside(copy), COMMAND_DONE); /* as it says */
    has(last.out, "entries restored");
    with_sql(copy, "DROP TRIGGER entry_no_update;"
                   "UPDATE entry SET value = '99 kg' WHERE id = (SELECT max(id) FROM entry)");
    assert_int_equal(amble("", "verify", copy, NULL), COMMAND_FAILED);
    has(last.err, "cannot be told from it as it is");
    assert_int_equal(restored_beside(copy), COMMAND_FAILED);
    has(last.err, "it was restored, but: entry");
    has(last.err, "is not what was written");
    assert_int_equal(truncate(copy, 20000), 0); /* and damage that can be told is told */
    assert_int_equal(amble("", "verify", copy, NULL), COMMAND_FAILED);
    has(last.err, "damaged");
    has_not(last.err, "sound");
    done(amble("", "verify", NULL));
}

static void read_only_writes_nothing(void **state)
{
    (void)state;
    assert_int_equal(amble("", "--read-only", "list", NULL), COMMAND_FAILED);
    assert_int_not_equal(access(in_folder("data/journal.db"), F_OK), 0);
    enter_visit();
    assert_int_equal(amble("dog Biscuit\ndog.mass = 12 kg\n", "--read-only", "enter", NULL),
                     COMMAND_FAILED);
    assert_int_equal(amble("", "--as", "XX", "list", NULL), COMMAND_FAILED);
    has(last.err, "nobody here has the initials \"XX\"; known are MK");
    done(amble("", "--as", "mk", "list", NULL));
}

static void the_demo_wants_an_empty_folder(void **state)
{
    (void)state;
    assert_int_equal(mkdir(in_folder("demo"), 0700), 0);
    assert_int_equal(amble("", "demo", in_folder("demo"), NULL), COMMAND_FAILED);
    has(last.err, "there are no text files in");
    write_file("demo/1-visit.txt", visit);
    write_file("demo/2-more.txt", "dog Biscuit\ndog.mas = 9 kg\n");
    assert_int_equal(amble("", "demo", in_folder("demo"), NULL), COMMAND_FAILED);
    has(last.err, "2-more.txt:2:");
    assert_int_equal(amble("", "show", "Biscuit", NULL), COMMAND_FAILED); /* all or nothing */
    write_file("demo/2-more.txt", "dog Biscuit\ndog.mass = 9.6 kg\n");
    done(amble("", "demo", in_folder("demo"), NULL));
    done(amble("", "show", "Biscuit", NULL));
    has(last.out, "9.6 kg");
    assert_int_equal(amble("", "demo", in_folder("demo"), NULL), COMMAND_FAILED);
    has(last.err, "hold 1 dog already");
}

static size_t files_in(const char *name)
{
    DIR *dir = opendir(in_folder(name));
    size_t n = 0;
    for (struct dirent *entry; dir && (entry = readdir(dir)) != NULL;)
        n += entry->d_name[0] != '.';
    if (dir)
        closedir(dir);
    return n;
}

/* Her folder stands between what she had seen and what was written here meanwhile. */
static void a_demo_has_a_colleague_with_her_own_laptop(void **state)
{
    (void)state;
    assert_int_equal(mkdir(in_folder("demo"), 0700), 0);
    assert_int_equal(mkdir(in_folder("demo/2-the-second-laptop"), 0700), 0);
    assert_int_equal(mkdir(in_folder("tmp"), 0700), 0);
    setenv("XDG_STATE_HOME", in_folder("state"), 1);
    setenv("TMPDIR", in_folder("tmp"), 1);
    write_file("demo/1-visit.txt", visit);
    write_file("demo/2-the-second-laptop/hers.txt",
               "practitioner IV Ines Vale\nat -2 18:00\ndog Biscuit\ndog.mass = 9.1 kg\n");
    write_file("demo/3-since.txt",
               "practitioner MK Mara Kell\nat -1 18:00\ndog Biscuit\ndog.mass = 9.6 kg\n"
               "dog.temper = calm\n");
    done(amble("", "demo", in_folder("demo"), NULL));
    done(amble("", "show", "Biscuit", NULL));
    has(last.out, "CONFLICT Last known weight: 9.6 kg or 9.1 kg");
    done(amble("", "today", NULL));
    has(last.out, "2 entries wait to be sent, the oldest 1 day old");
    done(amble("", "device", NULL));
    has(last.out, "the second laptop, 3 entries here");
    done(amble("", "verify", NULL));
    assert_int_equal(files_in("tmp"), 0);
    assert_int_equal(files_in("state/amble"), 1);
    unsetenv("XDG_STATE_HOME");
    unsetenv("TMPDIR");
}

/* What wrote says so at its end and is done all the same; what reads has nothing to say of it. */
static void a_disk_nearly_full_is_told_by_what_writes(void **state)
{
    (void)state;
    static const char told[] = "MB are free for the records: make room on the disk\n";
    enter_visit();
    has_not(last.err, told);
    setenv("AMBLE_ROOM", "999999999999", 1);
    done(amble("dog Biscuit\ndog.mass = 9.5 kg\n", "--as", "MK", "enter", NULL));
    has(last.err, "amble: only ");
    has(last.err, told);
    has_not(last.out, told);
    done(amble("", "backup", in_folder("copy.db"), NULL));
    has(last.err, told);
    done(amble("", "restore", in_folder("copy.db"), NULL));
    has(last.err, told);
    done(amble("", "base", NULL));
    has(last.err, told);
    static const char *const reading[] = {"list", "today", "verify", "check", "device", "help"};
    for (size_t i = 0; i < sizeof reading / sizeof reading[0]; i++) {
        done(amble("", reading[i], NULL));
        assert_string_equal(last.err, "");
    }
    assert_int_equal(amble("", "enter", "--nonsense", NULL), COMMAND_USAGE);
    has_not(last.err, told);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(what_was_entered_is_shown, begin, end),
        cmocka_unit_test_setup_teardown(a_history_is_shown_and_printed, begin, end),
        cmocka_unit_test_setup_teardown(json_says_who_when_and_what_was_replaced, begin, end),
        cmocka_unit_test_setup_teardown(short_ids_lead_to_records, begin, end),
        cmocka_unit_test_setup_teardown(two_dogs_of_one_name_are_not_guessed, begin, end),
        cmocka_unit_test_setup_teardown(a_wrong_line_keeps_everything_out, begin, end),
        cmocka_unit_test_setup_teardown(the_sheet_has_what_may_never_be_left_out, begin, end),
        cmocka_unit_test_setup_teardown(a_line_hands_the_sheet_over, begin, end),
        cmocka_unit_test_setup_teardown(the_demo_was_written_on_its_days, begin, end),
        cmocka_unit_test_setup_teardown(a_question_of_the_practice_reaches_record_and_sheet, begin,
                                        end),
        cmocka_unit_test_setup_teardown(broken_templates_are_told_and_left_out, begin, end),
        cmocka_unit_test_setup_teardown(printing_goes_through_lp, begin, end),
        cmocka_unit_test_setup_teardown(a_red_flag_makes_a_referral, begin, end),
        cmocka_unit_test_setup_teardown(records_are_read_again_and_copied, begin, end),
        cmocka_unit_test_setup_teardown(an_older_copy_is_told_for_what_it_is, begin, end),
        cmocka_unit_test_setup_teardown(read_only_writes_nothing, begin, end),
        cmocka_unit_test_setup_teardown(the_demo_wants_an_empty_folder, begin, end),
        cmocka_unit_test_setup_teardown(a_demo_has_a_colleague_with_her_own_laptop, begin, end),
        cmocka_unit_test_setup_teardown(a_disk_nearly_full_is_told_by_what_writes, begin, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
