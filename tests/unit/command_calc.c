/* amble calc: the contract other programs rely on, and the manual page that tells it. */
#include "base/arena.h"
#include "base/text.h"
#include "command/calc.h"
#include "command/command.h"
#include "template/template.h"
#include <jansson.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#undef fail /* cmocka's; ours is meant here */

enum { WORDS_MOST = 40 };

/* The shipped templates, which the tests run beside. */
static bool shipped(const void *of, const char *body_type, struct arena *a,
                    struct proportion_relation *list, size_t *count, struct fault *f)
{
    (void)a;
    return calc_relations_of_set(of, body_type, list, count, f);
}

struct answer {
    int status;
    char *out, *err;
};

/* Split as a shell would: blanks, single and double quotes, a backslash before a newline. */
static int split(char *line, char **words)
{
    int n = 0;
    char *to = line, quote = '\0';
    bool inside = false;
    for (char *p = line; *p; p++) {
        if (p[0] == '\\' && p[1] == '\n') {
            p++;
        } else if (quote ? *p == quote : *p == '"' || *p == '\'') {
            quote = quote ? '\0' : *p;
        } else if (!quote && *p == ' ') {
            if (inside)
                *to++ = '\0';
            inside = false;
        } else {
            if (!inside)
                words[n++] = to;
            inside = true;
            *to++ = *p;
        }
    }
    *to = '\0';
    return n;
}

static struct answer run_in(const struct template_set *set, const char *line)
{
    struct answer a;
    size_t out_size, err_size;
    char *words[WORDS_MOST], copy[2048];
    snprintf(copy, sizeof copy, "%s", line);
    int n = split(copy, words);
    FILE *out = open_memstream(&a.out, &out_size), *err = open_memstream(&a.err, &err_size);
    struct calc_relations relations = {shipped, set};
    a.status = calc_run(n, words, &relations, out, err);
    fclose(out);
    fclose(err);
    return a;
}

static void done(struct answer *a)
{
    free(a->out);
    free(a->err);
}

static void gives(void **state, const char *line, const char *out)
{
    struct answer a = run_in(*state, line);
    if (a.status != COMMAND_DONE || strcmp(a.out, out) != 0 || a.err[0]) {
        print_error("%s\ngave status %d\n%s%s\nexpected\n%s", line, a.status, a.out, a.err, out);
        _fail(__FILE__, __LINE__);
    }
    done(&a);
}

/* Status 2, nothing on standard output, and the key's name with what is wrong. */
static void refuses(void **state, const char *line, const char *words)
{
    struct answer a = run_in(*state, line);
    if (a.status != COMMAND_USAGE || a.out[0] || !strstr(a.err, words)) {
        print_error("%s\ngave status %d\n%s%s\nexpected %s\n", line, a.status, a.out, a.err, words);
        _fail(__FILE__, __LINE__);
    }
    done(&a);
}

#define FRAME_KEYS                                                                                 \
    " dog_mass_kg=12 stance_length_mm=400 dog_cg_height_mm=250 rest_mm=380 bar_mm=20 "             \
    "frame_mass_kg=1.2 frame_cg_mm=260 frame_cg_height_mm=220 wheels_mass_kg=0.8 "                 \
    "wheel_diameter_mm=200 "
#define FRAME "balance" FRAME_KEYS

static void lines_of_key_value_unit(void **state)
{
    gives(state, "units text='9 1/4 in'", "value 234.95 mm\n");
    gives(state, "units text=\"23,5 cm\" to=in", "value 9.251968504 in\n");
    gives(state, "interval hits=10 n=20", "share 0.5 -\nlow 0.2992980082 -\nhigh 0.7007019918 -\n");
    gives(state, "contact load_n=100 area_cm2=10", "kpa 100 kPa\nmmhg 750.0615758 mmHg\n");
    gives(state, "energy mass_kg=20",
          "rer_kcal 662.0191263 kcal\nideal_low_kg - kg\n"
          "ideal_high_kg - kg\n");
    gives(state, "ramp mass_kg=10 slope_deg=0 rolling=0",
          "slope_deg 0 deg\nslope_percent 0 %\npull_n 0 N\n");
}

/* Every name, unit and default of the contract, as other programs rely on them. */
static void names_are_fixed(void **state)
{
    (void)state;
    static const struct {
        const char *name, *in, *out;
    } contract[] = {
        {"units", "text to=mm", "value"},
        {"balance",
         "dog_mass_kg stance_length_mm fore_share=0.604 hind_support=0 dog_cg_height_mm axle_mm "
         "relief rest_mm bar_mm frame_mass_kg frame_cg_mm frame_cg_height_mm wheels_mass_kg "
         "wheel_diameter_mm slope_deg=0 friction=0.5",
         "axle_mm fore_load_n fore_share_now relief rest_load_n bar_load_n wheel_load_n "
         "neutral_axle_mm cg_mm cg_height_mm uphill_limit_deg downhill_limit_deg "
         "traction_limit_deg"},
        {"stability", "cg_mm cg_height_mm axle_mm wheel_track_mm fore_spacing_mm=0 turn_radius_m=2",
         "half_width_mm side_slope_limit_deg tip_distance_mm worst_tilt_deg turn_speed_limit_mps"},
        {"obstacle", "wheel_diameter_mm step_mm wheel_load_n", "push_n"},
        {"ramp", "mass_kg slope_deg rise_mm run_mm rolling=0.02", "slope_deg slope_percent pull_n"},
        {"corridor", "width_in_mm width_out_mm frame_width_mm", "longest_mm"},
        {"repeat", "readings", "tem tem_percent reliability credible_change"},
        {"proportion", "body_type withers_height_mm", "misfit suspect suspect_share"},
        {"interval", "hits n", "share low high"},
        {"energy", "method=both mass_kg condition", "rer_kcal ideal_low_kg ideal_high_kg"},
        {"bladder", "mass_kg hours emptied_share=0.49",
         "made_low_ml made_high_ml before_low_ml before_high_ml after_low_ml after_high_ml"},
        {"contact", "load_n area_cm2", "kpa mmhg"},
        {"trend", "points threshold",
         "slope_per_day slope_low slope_high intercept theil_slope kendall_s cross_day cross_low "
         "cross_high"},
    };
    const size_t fixed = sizeof contract / sizeof contract[0];
    assert_true(calculation_count >= fixed); /* calculations may be added after them */
    for (size_t i = 0; i < fixed; i++) {
        const struct calculation *c = &calculations[i];
        struct text in, out;
        text_init(&in, 4096);
        text_init(&out, 4096);
        for (size_t k = 0; k < c->word_count; k++) {
            const char *usual = c->words[k].fallback;
            text_addf(&in, "%s%s%s ", c->words[k].name, usual && *usual ? "=" : "",
                      usual ? usual : "");
        }
        for (size_t k = 0; k < *c->in_count; k++) {
            text_add(&in, c->in[k].name);
            if (c->in[k].need == KEY_DEFAULT)
                text_addf(&in, "=%g", c->in[k].fallback);
            text_addc(&in, ' ');
        }
        for (size_t k = 0; k < *c->out_count; k++)
            text_addf(&out, "%s ", c->out[k].name);
        assert_string_equal(c->name, contract[i].name);
        assert_true(text_starts(in.s, contract[i].in)); /* keys may be added, never changed */
        assert_true(text_starts(out.s, contract[i].out));
        text_free(&in);
        text_free(&out);
    }
}

static void json_is_one_object(void **state)
{
    struct answer a = run_in(*state, FRAME "axle_mm=340~3 fore_share=0.6 --spread --json");
    json_t *o = json_loads(a.out, JSON_REJECT_DUPLICATES, NULL);
    assert_int_equal(a.status, COMMAND_DONE);
    assert_non_null(o);
    assert_int_equal(json_object_size(o), balance_keys_out_count + 1);
    for (size_t i = 0; i < balance_keys_out_count; i++) {
        assert_true(json_is_number(json_object_get(o, balance_keys_out[i].name)));
        assert_true(json_is_number(
            json_object_get(json_object_get(o, "spread"), balance_keys_out[i].name)));
    }
    double fore = json_number_value(json_object_get(o, "fore_load_n"));
    assert_true(fore > 65.06 && fore < 65.08);
    json_decref(o);
    done(&a);
    a = run_in(*state, "energy --json mass_kg=20");
    o = json_loads(a.out, 0, NULL);
    assert_true(json_is_null(json_object_get(o, "ideal_low_kg")));
    json_decref(o);
    done(&a);
}

static void proportions_from_the_templates(void **state)
{
    struct answer a =
        run_in(*state, "proportion withers_height_mm=228 pelvic_floor_height_mm=186 "
                       "hip_width_mm=132 thigh_depth_mm=71 body_type=low_long --json");
    json_t *o = json_loads(a.out, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(o);
    assert_string_equal(json_string_value(json_object_get(o, "suspect")), "pelvic_floor_height");
    assert_true(json_number_value(json_object_get(o, "suspect_share")) > 0.9);
    assert_int_equal(json_array_size(json_object_get(o, "relations")), 3);
    json_decref(o);
    done(&a);
    a = run_in(*state, "proportion withers_height_mm=228 pelvic_floor_height_mm=150");
    assert_non_null(strstr(a.out, "pelvic_floor_height/withers_height.verdict usual -\n"));
    assert_non_null(strstr(a.out, "suspect - -\nsuspect_share 0 -\n"));
    done(&a);
    a = run_in(*state, "proportion withers_height_mm=228 pelvic_floor_height_mm=186");
    assert_non_null(strstr(a.out, "suspect_share 0.5 -\n"));
    assert_non_null(strstr(a.out, "suspect_or "));
    done(&a);
    refuses(state, "proportion withers_height_mm=228 body_type=low_log",
            "body_type: there is none");
    refuses(state, "proportion tail_length_mm=228", "there is no key \"tail_length_mm\"");
    refuses(state, "proportion", "measures are missing");
}

static void bad_keys_are_named(void **state)
{
    refuses(state, FRAME, "axle_mm or relief is missing");
    refuses(state, FRAME "axle_mm=300 relief=0.1", "axle_mm and relief cannot both be given");
    refuses(state, FRAME "axel_mm=300", "there is no key \"axel_mm\" (did you mean \"axle_mm\"?)");
    refuses(state, FRAME "axle_mm=300 axle_mm=310", "axle_mm is given twice");
    refuses(state, FRAME "axle_mm=300 bar_mm", "\"bar_mm\" is not key=value");
    refuses(state, FRAME "axle_mm=300 fore_share=nan", "fore_share must be a plain decimal number");
    refuses(state, FRAME "axle_mm=inf", "axle_mm must be a plain");
    refuses(state, FRAME "axle_mm=0x12c", "axle_mm must be a plain");
    refuses(state, FRAME "axle_mm=1e999", "axle_mm must be a plain");
    refuses(state, FRAME "axle_mm=34,5", "axle_mm must be a plain");
    refuses(state, FRAME "axle_mm=", "axle_mm must be a plain");
    refuses(state, FRAME "axle_mm=300~3", "an uncertainty needs --spread");
    refuses(state, FRAME "axle_mm=300 hind_support=1.5", "hind_support must be from 0 to 1");
    refuses(state, "balance axle_mm=300", "dog_mass_kg is missing");
    refuses(state, "ramp mass_kg=3~1 slope_deg=2", "which only balance has");
    refuses(state, "ramp mass_kg=3 slope_deg=2 --spread", "there is no option \"--spread\"");
    refuses(state, "ramp mass_kg=3 slope_deg=2 --jsn", "there is no option \"--jsn\"");
    refuses(state, "balanse x=1", "no calculation \"balanse\" (did you mean \"balance\"?)");
    refuses(state, "units", "text is missing");
    refuses(state, "units text=''", "text is empty");
    refuses(state, "units text='3 kg' to=mm", "text: ");
    refuses(state, "units text=3 to=furlong", "to: \"furlong\"");
    refuses(state, "energy mass_kg=20 method=magic", "method must be");
    refuses(state, "repeat readings=1,2;3", "readings of subject 2");
    refuses(state, "repeat readings=1,b", "readings must be");
    refuses(state, "trend points=1,2;2,3;3", "points: number 3");
    refuses(state, "trend points='1,2;1,3;1,4'", "points all lie on one day");
    refuses(state, "interval hits=5 n=4", "hits 5");
    refuses(state, "trend points='1,2,.1;2,3;3,4,.1'", "points: number 2");
    refuses(state, "trend points='1,2,0;2,3,0;3,4,0'", "an uncertainty of 0");
    refuses(state, "agreement readings=1,2;3", "readings of subject 2");
    refuses(state, "weeks mass_kg=40 target_kg=36 share_a_week=0.03", "a veterinarian decides");
    refuses(state, "dimension measures=1,300", "measures: number 1");
    refuses(state, "dimension measures=1,300,3 errs=up", "errs must be either or long or short");
    refuses(state, "front axle_mm=40", "dog_mass_kg is missing");
}

static void positions_of_an_axle(void **state)
{
#define STEPPED "axle" FRAME_KEYS "last_mm=340 steps=3 "
    struct answer a = run_in(*state, STEPPED "axle_mm=100");
    assert_int_equal(a.status, COMMAND_DONE);
    assert_non_null(
        strstr(a.out, "position_1.axle_mm 100 mm\nposition_1.stands no -\nposition_2."));
    assert_null(strstr(a.out, "position "));
    done(&a);
    a = run_in(*state, STEPPED "axle_mm=300 relief=0.2 --json");
    json_t *o = json_loads(a.out, JSON_REJECT_DUPLICATES, NULL);
    assert_true(json_number_value(json_object_get(o, "position")) == 1);
    json_decref(o);
    done(&a);
    refuses(state, STEPPED "axle_mm=300 relief=0.2 uphill_deg=15",
            "no position does this, because the best of them grips to 10.0 deg uphill (340 mm)");
    refuses(state, STEPPED "relief=0.2", "axle_mm is missing");
    refuses(state, STEPPED "axle_mm=300 lift=maybe", "lift must be no or yes");
    refuses(state, "axle" FRAME_KEYS "axle_mm=300 last_mm=340 steps=2.5", "steps must be a whole");
    refuses(state, STEPPED "axel_mm=300", "did you mean \"axle_mm\"?");
}

static void four_wheels_need_a_choice(void **state)
{
#define FOUR                                                                                       \
    "four dog_mass_kg=12 stance_length_mm=400 fore_share=0.6 rest_mm=380 sling_mm=20 "             \
    "frame_mass_kg=1.2 frame_cg_mm=260 front_axle_mm=50 front_wheels_mass_kg=0.4 "                 \
    "rear_axle_mm=420 rear_wheels_mass_kg=0.4 "
    gives(state, FOUR,
          "fore_low_n 0 N\nfore_high_n 68.13041053 N\n"
          "fore_low_because the fore feet carry nothing -\n"
          "fore_high_because the sling hangs loose -\n");
    struct answer a = run_in(*state, FOUR "press=yes fore_feet_stiffness=2 rest_stiffness=5 "
                                          "sling_stiffness=5 front_wheels_stiffness=1000 "
                                          "rear_wheels_stiffness=1000");
    assert_non_null(strstr(a.out, "fore_load_n 20.381"));
    done(&a);
    a = run_in(*state, FOUR "fore_load_n=30");
    assert_non_null(strstr(a.out, "fore_load_n 30 N\n"));
    done(&a);
    refuses(state, FOUR "fore_load_n=90", "can carry 0.0 to 68.1 N in this frame, not 90.0");
    refuses(state, FOUR "sling_share=0.9", "the fore feet can carry 0.0 to 68.1 N");
    refuses(state, FOUR "fore_load_n=30 sling_share=0.1", "give one");
    refuses(state, FOUR "rest_stiffness=5", "all five are needed");
}

static void nothing_typed_acts_on_the_terminal(void **state)
{
    struct answer a = run_in(*state, "ramp m\033[2Jss=3");
    assert_int_equal(a.status, COMMAND_USAGE);
    assert_null(strchr(a.err, '\033'));
    done(&a);
}

static void help_tells_every_key(void **state)
{
    struct answer a = run_in(*state, "--help");
    for (size_t i = 0; i < calculation_count; i++)
        assert_non_null(strstr(a.out, calculations[i].name));
    done(&a);
    for (size_t i = 0; i < calculation_count; i++) {
        char line[64];
        snprintf(line, sizeof line, "%s --help", calculations[i].name);
        a = run_in(*state, line);
        assert_int_equal(a.status, COMMAND_DONE);
        const struct calc_key *key;
        for (size_t k = 0; (key = calc_key_at(&calculations[i], k)); k++)
            assert_non_null(strstr(a.out, key->help));
        done(&a);
    }
}

/* ---- the manual page ------------------------------------------------------------------------- */

static char *read_page(void)
{
    struct text t;
    char block[4096];
    size_t n;
    FILE *file = fopen("man/amble-calc.1", "r");
    assert_non_null(file);
    text_init(&t, 1 << 20);
    while ((n = fread(block, 1, sizeof block, file)) > 0)
        text_addn(&t, block, n);
    fclose(file);
    return t.s;
}

/* The page's text from ".Ss NAME" to the next one, in `*size` characters. */
static const char *section(const char *page, const char *name, size_t *size)
{
    char head[64];
    snprintf(head, sizeof head, "\n.Ss %s\n", name);
    const char *from = strstr(page, head);
    assert_non_null(from);
    const char *to = strstr(from + 1, "\n.S");
    *size = (size_t)(to - from);
    return from;
}

static void says(const char *part, size_t size, const char *name, const char *words)
{
    /* lines may be filled: blanks and newlines are one */
    char *flat = strndup(part, size);
    for (char *p = flat; *p; p++)
        if (*p == '\n')
            *p = ' ';
    if (!strstr(flat, words)) {
        print_error("amble-calc(1), %s, does not say \"%s\"\n", name, words);
        _fail(__FILE__, __LINE__);
    }
    free(flat);
}

static void the_page_has_every_key(void **state)
{
    (void)state;
    char *page = read_page();
    for (size_t i = 0; i < calculation_count; i++) {
        const struct calculation *c = &calculations[i];
        size_t size;
        char words[400];
        const char *part = section(page, c->name, &size);
        for (size_t k = 0; k < c->word_count; k++) {
            const char *usual = c->words[k].fallback;
            snprintf(words, sizeof words, ".It Cm %s Pq text%s%s %s.", c->words[k].name,
                     !usual   ? ""
                     : *usual ? ", usually "
                              : ", may be left out",
                     usual ? usual : "", c->words[k].help);
            says(part, size, c->name, words);
        }
        const struct calc_key *key;
        for (size_t k = 0; (key = calc_key_at(c, k)); k++) {
            char given[32] = "";
            if (k >= *c->in_count && c->also == balance_keys_in)
                break; /* the page has them once, under balance */
            if (key->need == KEY_DEFAULT)
                snprintf(given, sizeof given, ", usually %g", key->fallback);
            else if (key->need == KEY_OPTIONAL)
                snprintf(given, sizeof given, ", may be left out");
            snprintf(words, sizeof words, ".It Cm %s Pq %s%s %s.", key->name,
                     strcmp(key->unit, "-") == 0 ? "no unit" : key->unit, given, key->help);
            says(part, size, c->name, words);
        }
        for (size_t k = 0; k < *c->out_count; k++) {
            key = &c->out[k];
            snprintf(words, sizeof words, ".It Cm %s Pq %s %s.", key->name,
                     strcmp(key->unit, "-") == 0 ? "no unit" : key->unit, key->help);
            says(part, size, c->name, words);
        }
        says(part, size, c->name, ".Em Limits :");
        says(part, size, c->name, ".Em Source :");
        if (*c->more)
            says(part, size, c->name, c->more);
    }
    free(page);
}

/* Every example of the page is run, and must give what stands under it. */
static void the_pages_examples_are_true(void **state)
{
    static const char prompt[] = "\n$ amble calc ";
    char *page = read_page();
    for (size_t i = 0; i < calculation_count; i++) {
        size_t size;
        const char *part = section(page, calculations[i].name, &size);
        int examples = 0;
        for (const char *at = part; (at = strstr(at, prompt)) && at < part + size; examples++) {
            at += strlen(prompt);
            const char *end = strchr(at, '\n'), *stop = strstr(at, "\n.Ed");
            while (end[-1] == 'e' && end[-2] == '\\') /* "\e" is the backslash of mdoc */
                end = strchr(end + 1, '\n');
            char line[2048], *to = line;
            for (const char *p = at; p < end; p++)
                if (p[0] != 'e' || p[-1] != '\\') /* the backslash alone */
                    *to++ = *p;
            *to = '\0';
            char *wanted = strndup(end + 1, (size_t)(stop - end));
            gives(state, line, wanted);
            free(wanted);
        }
        assert_true(examples > 0);
    }
    free(page);
}

static int load(void **state)
{
    struct text lines;
    text_init(&lines, 1 << 16);
    struct template_report report = {.lines = &lines};
    *state = template_load("config", NULL, &report);
    if (!*state)
        print_error("%s", lines.s);
    text_free(&lines);
    return *state ? 0 : -1;
}

static int unload(void **state)
{
    template_free(*state);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lines_of_key_value_unit),
        cmocka_unit_test(names_are_fixed),
        cmocka_unit_test(json_is_one_object),
        cmocka_unit_test(proportions_from_the_templates),
        cmocka_unit_test(bad_keys_are_named),
        cmocka_unit_test(positions_of_an_axle),
        cmocka_unit_test(four_wheels_need_a_choice),
        cmocka_unit_test(nothing_typed_acts_on_the_terminal),
        cmocka_unit_test(help_tells_every_key),
        cmocka_unit_test(the_page_has_every_key),
        cmocka_unit_test(the_pages_examples_are_true),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
