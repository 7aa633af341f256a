# tideover: make (builds), make demo, make check; see README.md and DEVELOPERS.md.
CC      = gcc
CFLAGS  = -O3 -g $(JAMS)
PREFIX  = /usr/local
BUILD   = build

# GCC would jam loops over trials side by side together with those around them, in vectors half as wide.
JAMS    = $(if $(findstring clang,$(CC)),,-fno-loop-unroll-and-jam)
STRICT  = -std=c11 -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE -Wall -Wextra -Wpedantic -Wshadow -Wstrict-prototypes -Werror \
          -ffp-contract=off -fno-fast-math
LIBS    = -lconfig -lcsv -lgsl -lgslcblas -lm -lpthread
COMPILE = $(CC) $(STRICT) $(CFLAGS) $(CPPFLAGS) -Isrc -Itests -Itests/unit -MMD -MP

SOURCES = $(filter-out src/main.c,$(wildcard src/*/*.c))
OBJECTS = $(SOURCES:src/%.c=$(BUILD)/%.o)
PROGRAM = $(BUILD)/tideover
SCENARIO_DEMO = scenarios/base.cfg

BUILD_NEEDS = gcc make libc6-dev libconfig-dev libcsv-dev libgsl-dev
DEMO_NEEDS  = $(BUILD_NEEDS) gnuplot-nox
CHECK_NEEDS = $(DEMO_NEEDS) g++ libcmocka-dev libpcg-cpp-dev python3 python3-numpy python3-scipy mandoc

.PHONY: rules all demo check units threads whole proof fuzz coverage bench install uninstall dist plots clean
.DELETE_ON_ERROR:
all: $(PROGRAM)

$(PROGRAM): $(BUILD)/main.o $(BUILD)/libtideover.a
	@echo "  LD $@"; $(CC) $(CFLAGS) $(LDFLAGS) -o $@ $^ $(LIBS)

$(BUILD)/libtideover.a: $(OBJECTS)
	@rm -f $@
	@ar rcs $@ $^

$(BUILD)/%.o: src/%.c Makefile
	@mkdir -p $(@D)
	@echo "  CC $<"; $(COMPILE) -c -o $@ $<

-include $(wildcard $(BUILD)/*.d $(BUILD)/*/*.d $(BUILD)/tests/unit/*/*.d)

# ---- the main job on the demo scenario ----------------------------------------------------------------
demo:
	@.ci/need $(DEMO_NEEDS)
	@$(MAKE) -s all
	@$(PROGRAM) run $(SCENARIO_DEMO) --out out/demo
	@plots/draw out/demo

# ---- tests -----------------------------------------------------------------------------------------------
# check: what must hold, in at most ten minutes. proof: longer comparisons with outside programs.
check:
	@.ci/need $(CHECK_NEEDS)
	@$(MAKE) -s all
	@$(MAKE) -s units BUILD=build/sanitized CFLAGS="-O1 -g -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer"
	@$(MAKE) -s threads BUILD=build/threads CFLAGS="-O1 -g -fsanitize=thread"
	@$(MAKE) -s whole

UNIT_TESTS = $(patsubst tests/%.c,$(BUILD)/tests/%,$(wildcard tests/unit/*/*_test.c)) \
             $(patsubst tests/%.cpp,$(BUILD)/tests/%,$(wildcard tests/unit/*/*_test.cpp))

$(BUILD)/tests/%_test: tests/%_test.c $(BUILD)/libtideover.a
	@mkdir -p $(@D)
	@echo "  CC $<"; $(COMPILE) -o $@ $< $(BUILD)/libtideover.a $(TEST_FLAGS) -lcmocka $(LIBS)

$(BUILD)/tests/%_test: tests/%_test.cpp $(BUILD)/libtideover.a
	@mkdir -p $(@D)
	@echo "  CXX $<"; g++ -std=gnu++17 -Wall -Wextra -Werror $(CFLAGS) -Isrc -Itests -Itests/unit -o $@ $< $(BUILD)/libtideover.a $(LIBS)

# Tests of running out of memory make the n-th allocation fail.
$(BUILD)/tests/unit/chance/memory_test: TEST_FLAGS = -Wl,--wrap=base_alloc,--wrap=base_realloc

units: $(UNIT_TESTS)
	@for test in $(UNIT_TESTS); do $$test || exit 1; done

# The threaded parts under the thread sanitizer: the whole program, several threads, every kind of output.
threads: $(PROGRAM)
	@tests/whole/threads.sh $(PROGRAM)

whole: $(PROGRAM)
	@tests/whole/house.sh $(BUILD)/libtideover.a
	@for test in $(filter-out tests/whole/proof_%,$(wildcard tests/whole/[a-z]*_test.*)); do echo "== $$test"; $$test $(PROGRAM) || exit 1; done
	@echo "== tests/whole/second_opinion.py"; tests/whole/second_opinion.py $(PROGRAM)

# Longer comparisons with outside programs, on a seed picked from the date (printed, so that a failure can be run again).
PROOF_NEEDS = $(CHECK_NEEDS) valgrind
proof:
	@.ci/need $(PROOF_NEEDS)
	@$(MAKE) -s all
	@seed=$$(date +%Y%m%d); echo "seed $$seed"; tests/whole/second_opinion.py $(PROGRAM) --fresh 3000 --seed $$seed
	@for test in tests/whole/proof_*_test.* tests/bench/*_test.sh; do \
	    if [ -x $$test ]; then echo "== $$test"; $$test $(PROGRAM) || exit 1; fi; done

# The model's rules switched off one by one: a test must notice each. ONLY=REGEX some of them.
rules:
	@.ci/need $(CHECK_NEEDS)
	@$(MAKE) -s all
	@tests/whole/rules_off.py $(PROGRAM) $(if $(ONLY),--only '$(ONLY)')

# Any bytes at every reader: SECONDS_EACH=600 longer, ENGINE=afl by AFL++ instead of libFuzzer, ONLY=scenario one of them.
SECONDS_EACH = 60
ENGINE       = libfuzzer
fuzz:
	@.ci/need $(BUILD_NEEDS) clang libclang-rt-14-dev $(if $(filter afl,$(ENGINE)),afl++)
	@$(MAKE) -s all
	@tests/fuzz/fuzz.sh $(SECONDS_EACH) $(ENGINE) $(ONLY)

coverage:
	@.ci/need $(CHECK_NEEDS)
	@tests/whole/coverage.sh

# Speeds, measured side by side; VECTOR names a NumPy program of the same model to compare with.
bench:
	@.ci/need $(BUILD_NEEDS) python3 python3-numpy python3-scipy
	@$(MAKE) -s all
	@tests/bench/bench.sh $(PROGRAM)

# ---- manual, installing, packing -------------------------------------------------------------------------
VERSION = $(shell sed -n 's/.*COMMAND_VERSION "\(.*\)"/\1/p' src/command/command.h)
SHARE   = $(DESTDIR)$(PREFIX)/share

$(BUILD)/tideover-scenario.5: $(PROGRAM) src/manual/tideover-scenario.head src/manual/tideover-scenario.tail
	@cat src/manual/tideover-scenario.head > $@.part
	@$(PROGRAM) explain --reference >> $@.part
	@cat src/manual/tideover-scenario.tail >> $@.part
	@mv $@.part $@

install: $(PROGRAM) $(BUILD)/tideover-scenario.5
	install -d $(DESTDIR)$(PREFIX)/bin $(SHARE)/man/man1 $(SHARE)/man/man5 $(SHARE)/tideover $(SHARE)/bash-completion/completions
	install -m 755 $(PROGRAM) $(DESTDIR)$(PREFIX)/bin/tideover
	install -m 644 src/manual/tideover.1 $(SHARE)/man/man1/
	install -m 644 $(BUILD)/tideover-scenario.5 $(SHARE)/man/man5/
	install -m 644 src/completion/tideover.bash $(SHARE)/bash-completion/completions/tideover
	cp -R configs scenarios plots $(SHARE)/tideover/
	find $(SHARE)/tideover -type d -exec chmod 755 {} + -o -type f -exec chmod 644 {} +
	chmod 755 $(SHARE)/tideover/plots/draw

uninstall:
	rm -f $(DESTDIR)$(PREFIX)/bin/tideover $(SHARE)/man/man1/tideover.1 $(SHARE)/man/man5/tideover-scenario.5
	rm -f $(SHARE)/bash-completion/completions/tideover
	rm -rf $(SHARE)/tideover

# A tarball of what git has, with the Debian packaging where dpkg-buildpackage looks for it.
dist:
	@mkdir -p $(BUILD)/dist
	@rm -rf $(BUILD)/dist/tideover-$(VERSION)
	@git archive --prefix=tideover-$(VERSION)/ HEAD | tar -x -C $(BUILD)/dist
	@if [ -d .packaging/debian ]; then cp -R .packaging/debian $(BUILD)/dist/tideover-$(VERSION)/debian; fi
	@tar -C $(BUILD)/dist -czf $(BUILD)/dist/tideover-$(VERSION).tar.gz tideover-$(VERSION)
	@echo $(BUILD)/dist/tideover-$(VERSION).tar.gz

plots: $(PROGRAM)
	$(PROGRAM) run $(SCENARIO_DEMO) --out out/demo --quiet
	plots/draw out/demo

clean:
	rm -rf $(BUILD) out
