/* An invented dog of 12 kg in a two-wheeled rear frame. Its loads and limits at any axle were
 * worked out apart from this program, by a linear solver and by stiff springs. */
#ifndef AMBLE_TESTS_ORACLE_DOG_H
#define AMBLE_TESTS_ORACLE_DOG_H

#include "calc/balance.h"

static inline struct balance_in oracle_dog(double axle_mm)
{
    struct balance_in in = balance_defaults();
    in.dog_mass_kg = 12;
    in.stance_length_mm = 400;
    in.fore_share = 0.6;
    in.dog_cg_height_mm = 250;
    in.axle_mm = axle_mm;
    in.rest_mm = 380;
    in.bar_mm = 20;
    in.frame_mass_kg = 1.2;
    in.frame_cg_mm = 260;
    in.frame_cg_height_mm = 220;
    in.wheels_mass_kg = 0.8;
    in.wheel_diameter_mm = 200;
    return in;
}

#endif
