/* What other programs read: every value that stands, and nothing that could act on its reader. The
 * shapes follow RFC 4180, RFC 5545, RFC 6350 and FHIR R4. */
#include "base/arena.h"
#include "base/text.h"
#include "base/utf8.h"
#include "casebook/ids.h"
#include "casebook_practice.h"
#include "output/content_line.h"
#include "output/exports.h"
#include <jansson.h>

static const char wren[] = "practitioner MK Mara Kell\n"
                           "caregiver Jo Marsh\ncaregiver.phone = 01632 960111\n"
                           "caregiver.address = 3 Mill Row, Fernhill\n"
                           "dog Wren\ndog.breed = Dachshund\ndog.sex = female, neutered\n"
                           "dog.born = 2020-05-01\nvisit today 14:00\nhip_width = 13.10, 13.2\n"
                           "temperature = 38.40\nneck_lesion = no\ntires = not known\n";

static const char *kept(struct world *w, struct text *out)
{
    const char *text = arena_str(w->arena, out->s);
    text_free(out);
    return text;
}

static const char *table(struct world *w, const char *entity)
{
    struct text out;
    text_init(&out, 8 << 20);
    OK(csv_record(&w->cb, w->arena, entity, &out, f));
    return kept(w, &out);
}

static const char *card(struct world *w, const struct chart *c)
{
    struct text out;
    text_init(&out, 1 << 20);
    OK(address_card(c, &out, f));
    return kept(w, &out);
}

static const char *calendar(struct world *w, day_number from)
{
    struct text out;
    text_init(&out, 1 << 20);
    OK(calendar_from(&w->cb, w->arena, from, &out, f));
    return kept(w, &out);
}

static json_t *bundle(const struct chart *c)
{
    struct text out;
    json_error_t e;
    text_init(&out, 8 << 20);
    OK(fhir_bundle(c, &out, f));
    json_t *root = json_loads(out.s, JSON_REJECT_DUPLICATES, &e);
    if (root == NULL)
        fail_msg("line %d: %s", e.line, e.text);
    text_free(&out);
    return root;
}

static void holds(const char *text, const char *part)
{
    if (strstr(text, part) == NULL)
        fail_msg("\"%s\" is missing from:\n%s", part, text);
}

static const char *said(const json_t *o, const char *key)
{
    const char *s = json_string_value(json_object_get(o, key));
    return s != NULL ? s : "";
}

/* The n-th resource of a type; of observations only those of an item, when it is not NULL. */
static const json_t *resource(const json_t *root, const char *type, const char *item, size_t n)
{
    json_t *each;
    size_t i;
    json_array_foreach(json_object_get(root, "entry"), i, each)
    {
        const json_t *r = json_object_get(each, "resource");
        const json_t *coding =
            json_array_get(json_object_get(json_object_get(r, "code"), "coding"), 0);
        if (strcmp(said(r, "resourceType"), type) == 0 &&
            (item == NULL || strcmp(said(coding, "code"), item) == 0) && n-- == 0)
            return r;
    }
    return NULL;
}

/* ---- the table ---- */

static void a_row_has_value_number_unit_and_who(void **state)
{
    struct world *w = *state;
    struct chart c;
    fed(w, &c, wren);
    const char *rows = table(w, c.visit.entity);
    holds(rows, "hip_width.1,\"Hip width, reading 1\",131.0 mm,131.0,mm,13.1 cm,,,MK,"
                "2026-11-24T09:30,\r\n");
    holds(table(w, c.caregiver.entity), ",\"3 Mill Row, Fernhill\",,,");
    for (const char *p = rows; (p = strchr(p, '\n')) != NULL; p++)
        assert_true(p[-1] == '\r');
}

static void a_cell_is_never_calculated(void **state)
{
    static const struct {
        const char *value, *cell;
    } cases[] = {
        {"=1+2", ",'=1+2,"},
        {"@SUM(A1)", ",'@SUM(A1),"},
        {"+44 1632", ",'+44 1632,"},
        {"-2+cmd", ",'-2+cmd,"},
        {"-2.5", ",-2.5,"},
        {"say \"sit\"", ",\"say \"\"sit\"\"\","},
        {"two\nlines", ",\"two\nlines\","},
        {"red\x1b[31m", ",red<U+001B>[31m,"},
        {"\xe2\x80\xaereversed", ",<U+202E>reversed,"},
    };
    struct world *w = *state;
    struct chart c;
    fed(w, &c, wren);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        put(w, &c.dog, "dog.notes", cases[i].value);
        holds(table(w, c.dog.entity), cases[i].cell);
    }
}

static void both_sides_of_a_conflict_are_rows(void **state)
{
    struct world *w = *state;
    struct chart c;
    fed(w, &c, wren);
    put(w, &c.dog, ID_DOG_MASS, "9.4 kg");
    beside(w, c.dog.entity, ID_DOG_MASS, "9.9 kg");
    const char *rows = table(w, c.dog.entity);
    holds(rows, "9.4 kg,9.4,kg,9.4 kg,not settled,");
    holds(rows, "9.9 kg,9.9,kg,9.9 kg,not settled,");
}

/* ---- the bundle ---- */

static void a_patient_is_an_animal_with_one_species(void **state)
{
    struct world *w = *state;
    struct chart c;
    fed(w, &c, wren);
    json_t *root = bundle(&c);
    assert_string_equal(said(root, "resourceType"), "Bundle");
    assert_string_equal(said(root, "type"), "collection");
    const json_t *dog = resource(root, "Patient", NULL, 0);
    assert_string_equal(said(dog, "id"), c.dog.entity);
    assert_string_equal(said(dog, "gender"), "female");
    assert_string_equal(said(dog, "birthDate"), "2020-05-01");
    const json_t *animal = json_array_get(json_object_get(dog, "extension"), 0), *part;
    assert_string_equal(said(animal, "url"),
                        "http://hl7.org/fhir/StructureDefinition/patient-animal");
    size_t i, species = 0;
    json_array_foreach(json_object_get(animal, "extension"), i, part) species +=
        strcmp(said(part, "url"), "species") == 0;
    assert_int_equal(species, 1);
    json_decref(root);
}

static void observations_keep_digits_units_and_state(void **state)
{
    struct world *w = *state;
    struct chart c;
    fed(w, &c, wren);
    beside(w, c.visit.entity, "neck_lesion", "yes");
    OK(record_strike(&w->cb, &c.visit, "temperature", "thermometer was broken", f));
    look_again(w, &c);
    struct text out;
    text_init(&out, 8 << 20);
    OK(fhir_bundle(&c, &out, f));
    holds(out.s, "\"value\": 131.0,"); /* not 131: the precision is part of the reading */
    text_free(&out);
    json_t *root = bundle(&c);
    const json_t *hip = resource(root, "Observation", "hip_width.1", 0);
    const json_t *quantity = json_object_get(hip, "valueQuantity");
    assert_string_equal(said(hip, "status"), "final");
    assert_string_equal(said(quantity, "system"), "http://unitsofmeasure.org");
    assert_string_equal(said(quantity, "code"), "mm");
    const json_t *struck = resource(root, "Observation", "temperature", 0);
    assert_string_equal(said(struck, "status"), "entered-in-error");
    assert_null(json_object_get(struck, "valueQuantity"));
    bool yes = false, no = false;
    for (size_t i = 0; i < 2; i++) {
        const json_t *o = resource(root, "Observation", "neck_lesion", i);
        assert_string_equal(said(o, "status"), "preliminary");
        *(json_is_true(json_object_get(o, "valueBoolean")) ? &yes : &no) = true;
    }
    assert_true(yes && no);
    const json_t *unknown = resource(root, "Observation", "tires", 0);
    assert_non_null(json_object_get(unknown, "dataAbsentReason"));
    assert_null(json_object_get(unknown, "valueBoolean"));
    json_decref(root);
}

/* Signed by one, changed by another, disputed by a third: each answer says what it is. */
static void what_came_after_signing_is_marked_answer_by_answer(void **state)
{
    struct world *w = *state;
    struct chart c;
    const char *entity, *item;
    fed(w, &c, wren);
    put(w, &c.visit, "goals", "the garden");
    OK(record_sign(&w->cb, &c.visit, f));
    OK(record_put(&w->cb, &c.visit, "tires", "yes", "asked again", f));
    OK(record_put(&w->cb, &c.visit, "goals", "the beach", "he rang", f));
    OK(casebook_undo(&w->cb, w->arena, &entity, &item, f));
    beside(w, c.visit.entity, "hip_width.1", "140 mm");
    look_again(w, &c);
    const char *rows = table(w, c.visit.entity);
    holds(rows, ",yes,,amended,MK,2026-11-24T09:30,asked again\r\n");
    holds(rows, ",the garden,,amended,MK,2026-11-24T09:30,taken back\r\n");
    holds(rows, "13.1 cm,not settled,,MK,");       /* this one was signed */
    holds(rows, "14.0 cm,not settled,amended,?,"); /* and this one was not */
    json_t *root = bundle(&c);
    const json_t *tires = resource(root, "Observation", "tires", 0);
    assert_string_equal(said(tires, "status"), "amended");
    const json_t *notes = json_object_get(tires, "note");
    assert_string_equal(said(json_array_get(notes, 0), "text"),
                        "Written after the record was signed.");
    assert_string_equal(said(json_array_get(notes, 1), "text"), "asked again");
    for (size_t i = 0; i < 2; i++) {
        const json_t *hip = resource(root, "Observation", "hip_width.1", i);
        const json_t *value = json_object_get(json_object_get(hip, "valueQuantity"), "value");
        bool later = json_number_value(value) > 135;
        notes = json_object_get(hip, "note");
        assert_string_equal(said(hip, "status"), "preliminary");
        assert_int_equal(json_array_size(notes), later ? 2 : 1);
    }
    json_decref(root);
}

/* Every reference leads to an entry, every full address stands once, no text is empty. */
static void walk(const json_t *root, const json_t *o)
{
    const char *key;
    json_t *v;
    size_t i;
    if (json_is_array(o)) {
        assert_int_not_equal(json_array_size(o), 0);
        json_array_foreach(o, i, v) walk(root, v);
        return;
    }
    if (!json_is_object(o))
        return;
    assert_int_not_equal(json_object_size(o), 0);
    json_object_foreach((json_t *)(uintptr_t)o, key, v)
    {
        if (json_is_string(v))
            assert_string_not_equal(json_string_value(v), "");
        if (strcmp(key, "reference") == 0 || strcmp(key, "fullUrl") == 0) {
            size_t found = 0;
            json_t *each;
            json_array_foreach(json_object_get(root, "entry"), i, each) found +=
                strcmp(said(each, "fullUrl"), json_string_value(v)) == 0;
            if (found != 1)
                fail_msg("%s %s is there %zu times", key, json_string_value(v), found);
        }
        walk(root, v);
    }
}

static void the_bundle_hangs_together(void **state)
{
    static const char *const demo[] = {"contrib/demo/7-bruno.txt", "contrib/demo/3-rolf.txt"};
    struct world *w = *state;
    for (size_t i = 0; i < sizeof demo / sizeof *demo; i++) {
        struct chart c;
        fed(w, &c, slurped(w, demo[i]));
        json_t *root = bundle(&c);
        assert_true(c.visit_count > 1);
        for (size_t k = 0; k < c.visit_count; k++)
            assert_non_null(resource(root, "Encounter", NULL, k));
        walk(root, root);
        json_decref(root);
    }
}

/* ---- calendar and card ---- */

static void the_calendar_has_what_is_booked_and_due(void **state)
{
    struct world *w = *state;
    fed(w, NULL, wren);
    const char *text = calendar(w, clock_today());
    holds(text, "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:");
    holds(text, "\r\nDTSTAMP:2026");
    holds(text, "\r\nDTSTART:20261124T140000\r\nSUMMARY:Visit: Wren\\, Dachshund\r\n");
    holds(text, "\r\nLOCATION:3 Mill Row\\, Fernhill\r\n");
    assert_string_equal(text, calendar(w, clock_today())); /* a second import finds the same UID */
    assert_null(strstr(calendar(w, clock_today() + 1), "VEVENT"));
    struct chart c;
    fed(w, &c, "dog Wren\n");
    beside(w, c.caregiver.entity, ID_CAREGIVER_ADDRESS, "4 Mill Row");
    holds(calendar(w, clock_today()), "3 Mill Row\\, Fernhill or 4 Mill Row (2 answers\\, not");
}

static void the_card_has_a_name_and_nothing_guessed(void **state)
{
    struct world *w = *state;
    struct chart c, none = {.cb = &w->cb, .arena = w->arena};
    struct text out;
    fed(w, &c, wren);
    const char *text = card(w, &c);
    assert_int_equal(strncmp(text, "BEGIN:VCARD\r\nVERSION:4.0\r\n", 26), 0);
    holds(text, "\r\nFN:Jo Marsh\r\n");
    holds(text, "\r\nADR:;;3 Mill Row\\, Fernhill;;;;\r\n");
    beside(w, c.caregiver.entity, ID_CAREGIVER_ADDRESS, "4 Mill Row");
    look_again(w, &c);
    text = card(w, &c); /* of two that nobody has settled both are given */
    holds(text, "\r\nADR:;;3 Mill Row\\, Fernhill;;;;\r\nADR:;;4 Mill Row;;;;\r\n");
    holds(text, "\r\nNOTE:Caregiver of Wren. Not settled: Address\r\n");
    put(w, &c.caregiver, ID_CAREGIVER_NAME, "Jo\nEND:VCARD; \\ Marsh");
    holds(card(w, &c), "\r\nFN:Jo\\nEND:VCARD\\; \\\\ Marsh\r\n");
    text_init(&out, 1000);
    REFUSED(address_card(&none, &out, f), FAULT_MISSING, "no caregiver");
    REFUSED(fhir_bundle(&none, &out, f), FAULT_MISSING, "no dog");
    text_free(&out);
}

static void long_lines_are_folded_between_characters(void **state)
{
    struct world *w = *state;
    struct text out, whole;
    char name[400];
    for (size_t i = 0; i < sizeof name - 2; i += 2)
        memcpy(name + i, "\xc3\xa9", 3);
    text_init(&out, 10000);
    text_init(&whole, 10000);
    content_text(&out, w->arena, "NOTE", name);
    for (const char *line = out.s, *end; *line != '\0'; line = end + 2) {
        end = strstr(line, "\r\n");
        assert_non_null(end);
        assert_in_range(end - line, 1, CONTENT_LINE_BYTES);
        assert_true(utf8_valid(line, (size_t)(end - line), NULL));
        text_addn(&whole, line + (line != out.s), (size_t)(end - line) - (line != out.s));
    }
    assert_string_equal(whole.s, arena_printf(w->arena, "NOTE:%s", name));
    text_free(&out);
    text_free(&whole);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHIPPED(a_row_has_value_number_unit_and_who),
        SHIPPED(a_cell_is_never_calculated),
        SHIPPED(both_sides_of_a_conflict_are_rows),
        SHIPPED(a_patient_is_an_animal_with_one_species),
        SHIPPED(observations_keep_digits_units_and_state),
        SHIPPED(what_came_after_signing_is_marked_answer_by_answer),
        SHIPPED(the_bundle_hangs_together),
        SHIPPED(the_calendar_has_what_is_booked_and_due),
        SHIPPED(the_card_has_a_name_and_nothing_guessed),
        SHIPPED(long_lines_are_folded_between_characters),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
