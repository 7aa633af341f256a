/* run.h: what the files of tideover run and tideover merge share. */
#ifndef TIDEOVER_COMMAND_RUN_H
#define TIDEOVER_COMMAND_RUN_H

#include "command/command.h"

/* Parts are made of whole blocks of so many trials. */
enum { COMMAND_PART_BLOCK = 16 };

/* One run, or one part of it: what all threads share. */
struct command_run {
    const struct command_options *options;
    struct command_loaded loaded;
    struct base_arena *arena;
    int64_t trials;                     /* of the whole run; with --precision the most allowed */
    int64_t first, end;                 /* this part's: first .. end - 1 */
    int64_t until;                      /* how far trials are run at present */
    struct tally_shared *shared;
    struct tally *tally;                /* the first thread's, into which the others' go */
    struct base_arena tally_arena;
    struct report_file *rows;           /* trials.csv; NULL without --per-trial */
    struct tally_doubt doubt;           /* only where settings are in doubt */
    const char *settings;               /* the text of effective.cfg */
    struct command_sampling *sampling;  /* what sharing words out gains; NULL: trials are independent, or it is not known yet */
    const char *stopped;                /* why no more trials were added; NULL: as many as asked for */
};

/* ---- run_prepare.c ------------------------------------------------------------------------------------ */

/* Sets the run's trials, and which of them are this part's; asks for the room that all threads share. BASE_WRONG when that cannot
 * be, BASE_FAILED without memory. */
enum base_result command_run_prepare(struct command_run *run);
/* Complains when the books of a trial do not balance: BASE_FAILED. */
enum base_result command_run_balanced(const struct command_run *run, struct base_complaints *complaints);

/* ---- run_trials.c ------------------------------------------------------------------------------------- */

/* Runs the trials, from where the run's tally ends; with --precision until the headline is known to it. */
enum base_result command_run_trials(struct command_run *run, struct base_complaints *complaints);
/* Half width of the headline's 95 % interval: chance of running short of either, in the worst food year. */
double command_run_half_width(const struct command_run *run);

/* ---- run_files.c: the tables and the answer ------------------------------------------------------------ */

enum base_result command_run_write(struct command_run *run, struct report_output *output, struct base_complaints *complaints);
void command_run_tell(const struct command_run *run, const struct report_output *output);

/* ---- run_sampling.c: trials that share words out --------------------------------------------------------- */

/* Refuses what cannot go with such trials; BASE_OK when there are none. */
enum base_result command_sampling_allowed(const struct command_run *run);
/* Finds the bound of the gain; nothing to do where trials are independent. */
enum base_result command_sampling_measure(struct command_run *run);
/* Writes sampling.csv, prints the gain of the headline. */
struct report_table command_sampling_table(const struct command_run *run, struct report_output *output);
void command_sampling_tell(const struct command_run *run);

/* ---- run_state.c: parts and states -------------------------------------------------------------------- */

/* The trials of a part: *first .. *end - 1. False when there are more parts than blocks of trials. */
bool command_part_trials(int64_t trials, int64_t part, int64_t parts, int64_t *first, int64_t *end);
/* The most parts that so many trials make. */
int64_t command_most_parts(int64_t trials);
/* Refuses --part and --state with what they cannot go with; BASE_OK when all is well. */
enum base_result command_state_allowed(const struct command_options *options);
/* An empty tally of the run's own, to add others to. False without memory. */
bool command_run_tally(struct command_run *run);
/* Goes on from the file of --state, or writes it for the first time. */
enum base_result command_state_begin(struct command_run *run, struct base_complaints *complaints);
/* Puts the state as it is now in the place of --state's file. */
enum base_result command_state_save(struct command_run *run, struct base_complaints *complaints);
/* Takes --state's file away: the run is done. */
void command_state_end(const struct command_run *run);
/* Writes a finished part's file; its name goes to `name`. */
enum base_result command_part_write(struct command_run *run, struct report_output *output, struct base_complaints *complaints,
                                    char name[64]);
/* Why the state is of another run than `ours`, with the first setting in which they differ; false when it is of the same. */
bool command_state_differs(const struct report_state *ours, const struct report_state *state, char why[600]);
/* Reads a state file into the arena: BASE_OK; BASE_WRONG, or BASE_FAILED (memory, the disk), with a
 * complaint. */
enum base_result command_state_read(struct base_arena *arena, const char *path, struct report_state *state,
                                    struct base_complaints *complaints);

#endif
