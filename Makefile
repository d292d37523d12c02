# amble: make, make check, make run, make install, make bench, make help

PREFIX  ?= /usr/local
DESTDIR ?=
BUILD   ?= build
CC      ?= cc
CSTD    := -std=c11 -D_GNU_SOURCE
WARN    := -Wall -Wextra -Wconversion -Wshadow -Werror
OPT     ?= -O2 -g
SAN     ?=
CPPFLAGS += -Isrc -I. -DAMBLE_CONFIG='"$(PREFIX)/share/amble/config"'
ALLCFLAGS = $(CSTD) $(WARN) $(OPT) $(SAN) -fstack-protector-strong -MMD -MP $(CPPFLAGS) $(CFLAGS)
LIBS    := -lsqlite3 -lyaml -lsodium -ljansson -lz -lm
TUILIBS := -lncursesw -ltinfo
TESTLIBS := -lcmocka

# The rooms, lowest first. A room's tests link it and what lies below it, nothing else.
ROOMS   := base calc template journal casebook share output command
room_objs = $(patsubst %.c,$(BUILD)/obj/%.o,$(wildcard src/$(1)/*.c))
upto    = $(if $(filter $(1),$(firstword $(2))),$(1),$(firstword $(2)) $(call upto,$(1),$(wordlist 2,99,$(2))))
objs_to = $(foreach r,$(call upto,$(1),$(ROOMS)),$(call room_objs,$(r)))

SRC_OBJS    := $(foreach r,$(ROOMS),$(call room_objs,$(r)))
SCREEN_OBJS := $(patsubst %.c,$(BUILD)/obj/%.o,$(filter-out screens/main.c,$(wildcard screens/*.c screens/kit/*.c)))
MAIN_OBJ    := $(BUILD)/obj/screens/main.o

all: $(BUILD)/amble

$(BUILD)/amble: $(SRC_OBJS) $(SCREEN_OBJS) $(MAIN_OBJ)
	@echo "  LINK $@"
	@$(CC) $(OPT) $(SAN) $(LDFLAGS) -o $@ $^ $(LIBS) $(TUILIBS)

$(BUILD)/obj/%.o: %.c
	@mkdir -p $(@D)
	@echo "  CC   $<"
	@$(CC) $(ALLCFLAGS) -c -o $@ $<

# ---- tests: tests/unit/ROOM_what.c links up to ROOM; tests/reference/*.c the calculations ----
UNIT := $(wildcard tests/unit/*.c)
REFS := $(wildcard tests/reference/*.c)
unit_room = $(firstword $(subst _, ,$(basename $(notdir $(1)))))

define test_rule
$(BUILD)/tests/$(basename $(notdir $(1))): $(BUILD)/obj/$(1:.c=.o) $$(call objs_to,$(2))
	@mkdir -p $$(@D)
	@echo "  LINK $$@"
	@$$(CC) $$(OPT) $$(SAN) $$(LDFLAGS) -o $$@ $$^ $$(LIBS) $$(TESTLIBS) $(3)
endef
$(foreach t,$(UNIT),$(eval $(call test_rule,$(t),$(call unit_room,$(t)))))
$(foreach t,$(REFS),$(eval $(call test_rule,$(t),calc,-lgsl -lgslcblas)))
UNIT_BINS := $(patsubst tests/unit/%.c,$(BUILD)/tests/%,$(UNIT))
REF_BINS  := $(patsubst tests/reference/%.c,$(BUILD)/tests/%,$(REFS))

# make unit-calc: build and run one room's tests
unit-%:
	@$(MAKE) --no-print-directory $(patsubst tests/unit/%.c,$(BUILD)/tests/%,$(wildcard tests/unit/$*_*.c))
	@set -e; for t in $(patsubst tests/unit/%.c,$(BUILD)/tests/%,$(wildcard tests/unit/$*_*.c)); do $$t; done
reference: $(REF_BINS)
	@set -e; for t in $(REF_BINS); do $$t; done

-include $(shell find $(BUILD)/obj -name '*.d' 2>/dev/null)
.PHONY: all reference
.SECONDARY:
