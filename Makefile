# tideover: make (builds), make demo, make check; see README.md and DEVELOPERS.md.
CC      = gcc
CFLAGS  = -O3 -g
PREFIX  = /usr/local
BUILD   = build

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

.PHONY: all demo check units threads whole proof bench clean
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
	@for test in tests/whole/[a-z]*_test.*; do echo "== $$test"; $$test $(PROGRAM) || exit 1; done
	@echo "== tests/whole/second_opinion.py"; tests/whole/second_opinion.py $(PROGRAM)

clean:
	rm -rf $(BUILD) out
