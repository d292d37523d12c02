/* Facts a rule may rest on that nobody types: derived from what was. One table: the loader accepts
 * these names in conditions, casebook/facts.c computes each of them. */
#ifndef AMBLE_TEMPLATE_FACTS_H
#define AMBLE_TEMPLATE_FACTS_H

#define DERIVED_FACTS(X)                                                                           \
    X(age_years, "whole years since the dog was born, or the age given on the call")               \
    X(hours_since_onset, "hours between the onset and now")                                        \
    X(body_type, "id of the body type chosen, or of the breed's")                                  \
    X(mass_kg, "the last recorded weight")                                                         \
    X(support, "id of the support decided on in this visit")                                       \
    X(support_fitted, "yes when that support is built from measurements")                          \
    X(fore_share, "share of the weight on the fore feet, from two scales, as a percentage")        \
    X(overweight_points, "condition score above 5 of 9")                                           \
    X(ramp_deg, "slope of the ramp or steps from their rise and run, in degrees")                  \
    X(pain_alert, "yes when the pain score has reached the alert of its own scale, else no")

#endif
