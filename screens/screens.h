/* The screens by name, and how one opens another. Each lives in a file of its own. */
#ifndef AMBLE_SCREENS_SCREENS_H
#define AMBLE_SCREENS_SCREENS_H

#include "screens/kit/screen.h"
#include "template/template.h"

void today_open(struct app *app);
void call_open(struct app *app, const char *call); /* NULL: a new call */
void find_open(struct app *app);
void dog_open(struct app *app, const char *dog);
void trends_open(struct app *app, const char *dog);
void cautions_open(struct app *app, const char *dog); /* all that rules forbid or warn of */
/* The forms of that place: the dog's, the caregiver's, those of a closed case. */
void details_open(struct app *app, const char *entity, enum form_place place);
void visit_open(struct app *app, const char *visit);
void practice_open(struct app *app);
void observers_open(struct app *app); /* how well each person repeats each measurement */
void equipment_open(struct app *app, const char *visit); /* NULL: no dog is to be fitted */
void sync_open(struct app *app);
void conflicts_open(struct app *app, const char *entity); /* NULL: the first of them */

/* Ask for a dog by typing; its uuid in `a`, or NULL when given up. */
const char *find_dog(struct app *app, struct arena *a);
/* Ask for a day and make a visit for a dog that is known; opens it. */
void visit_open_new(struct app *app, const char *dog);
/* Ask name and initials, make the practitioner and be them. False when given up. */
bool practitioner_ask(struct app *app, struct arena *a);
/* Where a thief could read the records: say so, and keep why they stay there all the same. */
void shelter_ask(struct app *app, struct arena *a);

#endif
