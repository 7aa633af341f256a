# tideover: make (builds), make demo, make check; see README.md and DEVELOPERS.md.
CC      = gcc
CFLAGS  = -O3 -g
PREFIX  = /usr/local
BUILD   = build

STRICT  = -std=c11 -D_XOPEN_SOURCE=700 -D_DEFAULT_SOURCE -Wall -Wextra -Wpedantic -Wshadow -Wstrict-prototypes -Werror \
          -ffp-contract=off -fno-fast-math
LIBS    = -lconfig -lcsv -lgsl -lgslcblas -lm -lpthread
COMPILE = $(CC) $(STRICT) $(CFLAGS) $(CPPFLAGS) -Isrc -Itests -MMD -MP

SOURCES = $(filter-out src/main.c,$(wildcard src/*/*.c))
OBJECTS = $(SOURCES:src/%.c=$(BUILD)/%.o)
PROGRAM = $(BUILD)/tideover
SCENARIO_DEMO = scenarios/base.cfg

BUILD_NEEDS = gcc make libc6-dev libconfig-dev libcsv-dev libgsl-dev
DEMO_NEEDS  = $(BUILD_NEEDS) gnuplot-nox
CHECK_NEEDS = $(DEMO_NEEDS) g++ libcmocka-dev libpcg-cpp-dev python3 python3-numpy python3-scipy mandoc

.PHONY: all demo check clean
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

-include $(wildcard $(BUILD)/*.d $(BUILD)/*/*.d)

clean:
	rm -rf $(BUILD)
