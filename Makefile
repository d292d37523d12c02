# amble: make builds the program, make help lists the rest

PREFIX  ?= /usr/local
DESTDIR ?=
BUILD   ?= build
CC      ?= cc
OPT     ?= -O2 -g
SAN     ?=
FUZZ_SECONDS ?= 60

CSTD := -std=c11 -D_GNU_SOURCE
WARN := -Wall -Wextra -Wconversion -Wshadow -Werror
CPPFLAGS += -Isrc -I. -DAMBLE_CONFIG='"$(PREFIX)/share/amble/config"'
ALLCFLAGS = $(CSTD) $(WARN) $(OPT) $(SAN) -fstack-protector-strong -MMD -MP $(CPPFLAGS) $(CFLAGS)
LINK     = $(CC) $(OPT) $(SAN) $(LDFLAGS)
LIBS    := -lsqlite3 -lyaml -lsodium -lz -lm
TUILIBS := -lncursesw -ltinfo
# clang does not tell the code that its sanitizer is there, as gcc does.
SANITIZERS := -fsanitize=address,undefined -fno-sanitize-recover=all -D__SANITIZE_ADDRESS__=1

# The rooms, lowest first, and what each may know. Its tests link that and nothing else.
ROOMS := base calc template journal casebook share output command
below_base     :=
below_calc     := base
below_template := base
below_journal  := base
below_casebook := base calc template journal
below_share    := $(below_casebook) casebook
below_output   := $(below_share) share
below_command  := $(below_output) output

room_objs = $(patsubst %.c,$(BUILD)/obj/%.o,$(wildcard $(addsuffix /*.c,$(addprefix src/,$(1)))))
objs_to   = $(call room_objs,$(1) $(below_$(1)))
KIT_OBJS    := $(patsubst %.c,$(BUILD)/obj/%.o,$(wildcard screens/kit/*.c))
SCREEN_OBJS := $(patsubst %.c,$(BUILD)/obj/%.o,$(wildcard screens/*.c))

all: $(BUILD)/amble ## the program (plain make does this)

$(BUILD)/amble: $(call room_objs,$(ROOMS)) $(KIT_OBJS) $(SCREEN_OBJS)
	@echo "  LINK $@"
	@$(LINK) -o $@ $^ $(LIBS) $(TUILIBS)

$(BUILD)/obj/%.o: %.c $(BUILD)/flags
	@mkdir -p $(@D)
	@echo "  CC   $<"
	@$(CC) $(ALLCFLAGS) -c -o $@ $<

# Objects know what they were made with: another compiler, prefix or sanitizer makes them again.
MADE_WITH := $(CC) $(ALLCFLAGS)
$(BUILD)/flags: FORCE
	@mkdir -p $(@D)
	@printf '%s\n' '$(subst ','\'',$(MADE_WITH))' | cmp -s - $@ || \
		printf '%s\n' '$(subst ','\'',$(MADE_WITH))' >$@

# ---- tests ----
# unit/ROOM_what.c links ROOM and what it knows; so do fuzz/ROOM_what_fuzz.c and sync/*.c (share),
# faults/*.c (journal), reference/*.c (calc), bench/*.c (everything without a terminal).
# screens/*_test.c drives the program through a pseudo-terminal. *_test.sh speaks TAP by itself.
UNIT    := $(wildcard tests/unit/*.c)
REFS    := $(wildcard tests/reference/*.c)
FAULTS  := $(wildcard tests/faults/*.c)
SYNC    := $(wildcard tests/sync/*.c)
BENCH   := $(wildcard tests/bench/*.c)
FUZZ    := $(wildcard tests/fuzz/*_fuzz.c)
SCREENS := $(wildcard tests/screens/*_test.c)
SCRIPTS := $(wildcard tests/*/*_test.sh)
room_of  = $(firstword $(subst _, ,$(notdir $(1))))
bin_of   = $(patsubst tests/%.c,$(BUILD)/tests/%,$(1))

# $(1) source, $(2) further objects, $(3) further libraries
define test_rule
$(call bin_of,$(1)): $(BUILD)/obj/$(1:.c=.o) $(2)
	@mkdir -p $$(@D)
	@echo "  LINK $$@"
	@$$(LINK) -o $$@ $$^ $(3) $$(LIBS)
endef
rule = $(eval $(call test_rule,$(1),$(2),$(3)))
$(foreach t,$(UNIT),$(call rule,$t,$(call objs_to,$(call room_of,$t)),-lcmocka -ljansson))
$(foreach t,$(REFS),$(call rule,$t,$(call objs_to,calc),-lcmocka -lgsl -lgslcblas))
$(foreach t,$(FAULTS),$(call rule,$t,$(call objs_to,journal),-lcmocka))
$(foreach t,$(SYNC),$(call rule,$t,$(call objs_to,share),-lcmocka))
$(foreach t,$(BENCH),$(call rule,$t,$(call objs_to,command)))

# tests/screens/NAME_demo.c is a program over the kit for tests to drive.
DEMOS   := $(wildcard tests/screens/*_demo.c)
HARNESS := $(BUILD)/obj/tests/screens/harness.o $(BUILD)/obj/tests/screens/visit_kit.o
$(foreach t,$(SCREENS),$(call rule,$t,$(HARNESS) $(call objs_to,base),-lcmocka -lvterm -lutil))
$(foreach t,$(DEMOS),$(call rule,$t,$(KIT_OBJS) $(call objs_to,command),$(TUILIBS)))
$(BUILD)/obj/tests/screens/%.o: CPPFLAGS += -DAMBLE_PROGRAM='"$(BUILD)/amble"' \
	-DKIT_DEMO='"$(BUILD)/tests/screens/kit_demo"' -DFORM_DEMO='"$(BUILD)/tests/screens/form_demo"'

# A disk that fails, loaded in front of the program (tests/screens/disk_test.c).
SHIM := $(BUILD)/tests/faults/shim/disk.so
$(SHIM): tests/faults/shim/disk.c
	@mkdir -p $(@D)
	@echo "  LINK $@"
	@$(CC) $(CSTD) $(WARN) -O2 -shared -fPIC -o $@ $<
$(BUILD)/tests/screens/disk_test: | $(SHIM)
$(BUILD)/obj/tests/screens/disk_test.o: CPPFLAGS += -DDISK_SHIM='"$(SHIM)"'

# A fuzz target is built by clang with its own main, or by any compiler with one that replays files.
FUZZ_MAIN ?= $(BUILD)/obj/tests/fuzz/replay.o
$(foreach t,$(FUZZ),$(call rule,$t,$(FUZZ_MAIN) $(call objs_to,$(call room_of,$t))))

# The slowest first: they run side by side.
TESTS := $(call bin_of,$(SCREENS) $(SYNC) $(FAULTS) $(UNIT) $(REFS) $(FUZZ))
TEST_ENV = AMBLE_PROGRAM=$(BUILD)/amble BUILD=$(BUILD)

tests: $(TESTS) $(call bin_of,$(DEMOS)) $(BUILD)/amble ## build every test, run none

# What cannot be built is a failure in the count, not the end of the run.
check: ## every test, ending with "N passed, N failed"
	@$(MAKE) -k --no-print-directory tests || true
	@$(TEST_ENV) sh tests/tally.sh $(TESTS) $(SCRIPTS)

# By clang, so that everything, tests included, has been through both compilers.
check-san: ## the same by clang under the address and undefined-behaviour sanitizers
	@$(MAKE) --no-print-directory BUILD=$(BUILD)-san CC=clang OPT="-O1 -g" SAN="$(SANITIZERS)" check

LONG_RUNS := $(BUILD)/tests/screens/record_test $(BUILD)/tests/screens/disk_test
check-long: $(LONG_RUNS) $(SHIM) $(BUILD)/amble ## a thousand kills, and a fault at every write of a visit
	@set -e; for t in $(LONG_RUNS); do AMBLE_KILLS=1000 AMBLE_FAULTS=1000 $(TEST_ENV) $$t; done

mutants: ## the code broken on purpose in many ways; a test must notice each
	@BUILD=$(BUILD) MAKE="$(MAKE)" sh tests/mutants/run.sh "$(ONLY)"

unit-%: # one room and its tests
	@$(MAKE) -s --no-print-directory $(call room_objs,$*) $(call bin_of,$(wildcard tests/unit/$*_*.c))
	@set -e; for t in $(call bin_of,$(wildcard tests/unit/$*_*.c)); do $$t; done

reference: $(call bin_of,$(REFS)) ## the calculations against published values
	@set -e; for t in $^; do $$t; done

fuzz-programs: $(call bin_of,$(FUZZ))
fuzz: ## each parser under libFuzzer for FUZZ_SECONDS=60
	@$(MAKE) -k --no-print-directory BUILD=$(BUILD)-fuzz CC=clang OPT="-O1 -g" FUZZ_MAIN= \
		SAN="$(SANITIZERS) -fsanitize=fuzzer-no-link" LDFLAGS=-fsanitize=fuzzer fuzz-programs || true
	@BUILD=$(BUILD)-fuzz FUZZ_SECONDS=$(FUZZ_SECONDS) FUZZ="$(FUZZ)" sh tests/tally.sh tests/fuzz/run.sh

bench: $(call bin_of,$(BENCH)) $(BUILD)/amble ## measure what must be quick
	@missed=; for t in $(call bin_of,$(BENCH)); do \
		$(TEST_ENV) $$t || missed="$$missed $${t##*/}"; done; \
		test -z "$$missed" || { echo "a goal was missed by:$$missed"; exit 1; }

objects: $(call room_objs,$(ROOMS)) $(KIT_OBJS) $(SCREEN_OBJS)
lint: ## analyzers, formatter, manual pages, banned functions, lengths
	@BUILD=$(BUILD)-lint MAKE="$(MAKE)" sh tests/tally.sh contrib/lint.sh

# ---- using it ----
run: $(BUILD)/amble ## the worked demo in a throw-away folder
	@sh contrib/demo.sh $(BUILD)/amble

# What goes where: pairs of a file here and its place under PREFIX.
MANUALS := $(foreach n,1 5 7,$(foreach m,$(wildcard man/*.$n),$m:share/man/man$n/$(notdir $m)))
TREES   := $(foreach f,$(shell find config contrib/demo -type f 2>/dev/null),\
	$f:share/amble/$(patsubst contrib/%,%,$f))
SHELLS  := $(foreach f,$(wildcard contrib/completions/amble.bash),\
	$f:share/bash-completion/completions/amble) \
	$(foreach f,$(wildcard contrib/completions/_amble),$f:share/zsh/site-functions/_amble)
PLACES   = $(MANUALS) $(TREES) $(SHELLS)

install: $(BUILD)/amble ## into PREFIX=/usr/local, under DESTDIR
	@install -D -m 755 $(BUILD)/amble "$(DESTDIR)$(PREFIX)/bin/amble"
	@set -e; for p in $(PLACES); do \
		install -D -m 644 "$${p%%:*}" "$(DESTDIR)$(PREFIX)/$${p#*:}"; done

uninstall: ## remove what install put there
	@rm -f "$(DESTDIR)$(PREFIX)/bin/amble"
	@for p in $(PLACES); do rm -f "$(DESTDIR)$(PREFIX)/$${p#*:}"; done
	@find "$(DESTDIR)$(PREFIX)/share/amble" -depth -type d -empty -delete 2>/dev/null || true

clean: ## remove what was built
	@rm -rf $(BUILD) $(BUILD)-san $(BUILD)-fuzz $(BUILD)-lint

help: ## this list
	@sed -n 's/^\([a-z-]*\):.*## /\1\t/p' $(firstword $(MAKEFILE_LIST)) | \
		awk -F'\t' '{ printf "  make %-10s %s\n", $$1, $$2 }'
	@echo "  make unit-ROOM  one room's tests: $(ROOMS)"

-include $(shell find $(BUILD)/obj -name '*.d' 2>/dev/null)
.PHONY: all tests check check-san check-long mutants reference fuzz fuzz-programs bench objects lint run install \
	uninstall clean help FORCE
.SECONDARY:
