/* Ids of the findings that hold a record together. What a form asks carries its own ids. */
#ifndef AMBLE_CASEBOOK_IDS_H
#define AMBLE_CASEBOOK_IDS_H

#define ID_OPEN   "record.open"   /* "yes" while a call has no outcome or a visit is not signed */
#define ID_SIGNED "record.signed" /* hash of what was signed */

#define ID_DOG_NAME  "dog.name"
#define ID_DOG_BREED "dog.breed"
#define ID_DOG_BODY  "dog.body_type"
#define ID_DOG_BORN  "dog.born"
#define ID_DOG_MASS  "dog.mass"
#define ID_CAREGIVER "dog.caregiver" /* uuid */

#define ID_CAREGIVER_NAME    "caregiver.name"
#define ID_CAREGIVER_PHONE   "caregiver.phone"
#define ID_CAREGIVER_ADDRESS "caregiver.address"

#define ID_CALL_AT        "call.at"
#define ID_CALL_DOG       "call.dog"       /* uuid, once booked */
#define ID_CALL_CAREGIVER "call.caregiver" /* uuid, once booked */
#define ID_CALL_NAME      "call.caregiver_name"
#define ID_CALL_PHONE     "call.phone"
#define ID_CALL_ADDRESS   "call.address"
#define ID_CALL_DOG_NAME  "call.dog_name"
#define ID_CALL_BREED     "call.breed"
#define ID_CALL_AGE       "call.age_years"
#define ID_CALL_MASS      "call.mass"
#define ID_CALL_ONSET     "call.onset"
#define ID_CALL_OVERRIDE  "call.override" /* why a visit is booked in spite of an emergency */
#define ID_RING_BACK      "call.ring_back"
#define ID_OUTCOME        "call.outcome"

#define ID_VISIT_DOG      "visit.dog"  /* uuid */
#define ID_VISIT_CALL     "visit.call" /* uuid of the call it was booked in, if any */
#define ID_VISIT_DAY      "visit.day"
#define ID_SUPPORT        "support"
#define ID_ACCESSORIES    "accessories"
#define ID_SUPPORT_REASON "support.reason"
#define ID_FIT_AXLE       "fit.axle"
#define ID_FIT_FRAME      "fit.frame"
#define ID_FIT_WHEEL      "fit.wheel"
#define ID_FIT_TRACK      "fit.track"
#define ID_FIT_PARTS      "fit.accessories" /* ids, blank-separated; "none" */
#define ID_FIT_LATER      "fit.hind_later"  /* hind support expected later, "30 %" */
#define ID_FIT_MEASURED   "fit.fore_scale"  /* on a scale under the fore feet, in the frame */
#define ID_BUILD          "build.sheet"     /* frozen: JSON, casebook/build.h */
#define ID_PHOTO          "profile_photo"   /* the file's name, as typed */
#define ID_PHOTO_OF       "photo.of"        /* the name the three below belong to */
#define ID_PHOTO_SHA      "photo.sha256"
#define ID_PHOTO_BYTES    "photo.bytes"
#define ID_PHOTO_TAKEN    "photo.taken"
#define ID_BUILD_LOAD     "build.fore_load" /* predicted at the freeze, "5.43 kg" */
#define ID_VISIT_KIND     "visit.kind"      /* "first", "review" */
#define ID_HANDED_OVER    "frame_handed_over"
#define ID_FIT_TRIED      "fit.tried"
#define ID_REVIEW_DUE     "review.due"  /* of the dog: a day, or "done" */
#define ID_CULTURE_DUE    "culture.due" /* of the dog: a day, or "done" */
#define ID_DOG_CLOSED     "dog.closed"  /* the day: no reminder from then on */
#define ID_CLOSED_FRAMES  "dog.closed_equipment"
#define ID_CLOSED_CALL    "dog.closed_call" /* the day agreed for a call to the owner */
#define ID_CLOSED_RUNG    "dog.closed_rung" /* "yes": it was made, or is not wanted any more */
#define ID_HANDOUT        "handout.given"   /* name, hash and text of what was handed over */

#define ID_FRAME_NAME    "equipment.name"
#define ID_FRAME_KIND    "equipment.frame" /* id of a frame of the templates */
#define ID_FRAME_STATE   "equipment.state" /* here, out, waits, back, repair, gone */
#define ID_FRAME_DOG     "equipment.dog"   /* uuid of the dog it is with */
#define ID_FRAME_WITH    "equipment.with"  /* the same in words */
#define ID_FRAME_SETTING "equipment.setting"
#define ID_FRAME_DUE     "equipment.due"

#define ID_SHELTER_DEVICE  "shelter.device"  /* uuid of the device this is about */
#define ID_SHELTER_BECAUSE "shelter.because" /* "none: why", by the id of the shelter */

#define ID_PRACTITIONER_NAME     "practitioner.name"
#define ID_PRACTITIONER_INITIALS "practitioner.initials"

#endif
