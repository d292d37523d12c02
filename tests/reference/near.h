/* Comparing with a printed value. */
#ifndef AMBLE_TESTS_NEAR_H
#define AMBLE_TESTS_NEAR_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#undef fail /* cmocka's; base/fault.h has one of its own */

/* |got - want| <= off, with both numbers in the message. NaN is never near. */
#define near(got, want, off)                                                                       \
    do {                                                                                           \
        double got_ = (got), want_ = (want), off_ = (off);                                         \
        if (!(fabs(got_ - want_) <= off_)) {                                                       \
            print_error("%s = %.17g, expected %.17g +- %g\n", #got, got_, want_, off_);            \
            _fail(__FILE__, __LINE__);                                                             \
        }                                                                                          \
    } while (0)
/* The same, relative to what is expected. */
#define near_share(got, want, share) near(got, want, fabs((double)(want)) * (share))

/* Works, and shows the reason when it does not. */
#define works(call, fault)                                                                         \
    do {                                                                                           \
        if (!(call)) {                                                                             \
            print_error("%s: %s\n", #call, (fault).text);                                          \
            _fail(__FILE__, __LINE__);                                                             \
        }                                                                                          \
    } while (0)

#endif
