/* distribution.c: settings that may be a plain figure or a distribution. Only the form is judged here:
 * which keys belong together, and that figures are figures. Whether there is such a distribution the room
 * "chance" judges. */
#include "scenario/inside.h"

#include <stdio.h>
#include <string.h>

enum { MOST_FIGURES = 100000, LAST_DAY_BEFORE_0 = 182 };

/* A form that a distribution may be written in: its parameters, in the order of scenario_distribution.a. */
struct form {
    const char *shape;             /* NULL: it is known by its parameters alone */
    enum scenario_shape as;
    const char *parameters[4];     /* NULL ends them */
    bool for_dates;
};

static const struct form forms[] = {
    {NULL, SCENARIO_TRIPLET, {"p10", "p50", "p90"}, true},
    {NULL, SCENARIO_RECORDS, {"records"}, true},
    {"normal", SCENARIO_NORMAL, {"mean", "sd"}, true},
    {"lognormal", SCENARIO_LOGNORMAL, {"mean", "sd"}, false},
    {"lognormal", SCENARIO_LOGNORMAL_LOG, {"mu", "sigma"}, false},
    {"gamma", SCENARIO_GAMMA, {"mean", "sd"}, false},
    {"gamma", SCENARIO_GAMMA_SHAPE, {"k", "theta"}, false},
    {"beta", SCENARIO_BETA, {"mean", "sd"}, false},
    {"beta", SCENARIO_BETA_SHAPE, {"alpha", "beta"}, false},
    {"weibull", SCENARIO_WEIBULL, {"mean", "sd"}, false},
    {"weibull", SCENARIO_WEIBULL_SHAPE, {"k", "scale"}, false},
    {"exponential", SCENARIO_EXPONENTIAL, {"mean"}, false},
    {"uniform", SCENARIO_UNIFORM, {"low", "high"}, true},
    {"triangular", SCENARIO_TRIANGULAR, {"low", "mode", "high"}, true},
    {"pert", SCENARIO_PERT, {"low", "mode", "high"}, true},
    {"poisson", SCENARIO_POISSON, {"mean"}, false},
    {"negative_binomial", SCENARIO_NEGATIVE_BINOMIAL, {"mean", "sd"}, false},
    {"counts", SCENARIO_COUNTS, {"values", "weights"}, false},
};
enum { FORMS = sizeof forms / sizeof forms[0] };

static const char *const extras[] = {"at_least", "at_most", "from_records", "shape", "smooth", "note", "source"};
enum { EXTRAS = sizeof extras / sizeof extras[0] };

/* One distribution under way. */
struct work {
    struct scenario_binding *binding;
    const struct scenario_setting *setting;
    struct scenario_tree *node;
    const char *path;
    const struct form *form;
    struct scenario_distribution *to;
};

static bool has_parameter(const struct form *form, const char *name)
{
    for (int i = 0; i < 4 && form->parameters[i] != NULL; i++) {
        if (strcmp(form->parameters[i], name) == 0) {
            return true;
        }
    }
    return false;
}

/* How many of the form's parameters are given. */
static int given(const struct form *form, const struct scenario_tree *node)
{
    int n = 0;
    for (int i = 0; i < 4 && form->parameters[i] != NULL; i++) {
        n += scenario_tree_member(node, form->parameters[i]) != NULL;
    }
    return n;
}

/* "mean and sd", "low, mode and high" */
static void parameters_text(const struct form *form, char text[40])
{
    text[0] = '\0';
    for (int i = 0; i < 4 && form->parameters[i] != NULL; i++) {
        bool last = i == 3 || form->parameters[i + 1] == NULL;
        size_t n = strlen(text);
        const char *before = i == 0 ? "" : last ? " and " : ", ";
        snprintf(text + n, 40 - n, "%s%s", before, form->parameters[i]);
    }
}

bool scenario_form_text(int i, char text[80], bool *for_dates)
{
    if (i < 0 || i >= FORMS) {
        return false;
    }
    const struct form *form = &forms[i];
    int n = form->shape != NULL ? snprintf(text, 80, "shape = \"%s\"", form->shape) : 0;
    for (int j = 0; j < 4 && form->parameters[j] != NULL; j++) {
        n += snprintf(text + n, 80 - (size_t)n, "%s%s", n > 0 ? "; " : "", form->parameters[j]);
    }
    *for_dates = form->for_dates;
    return true;
}

/* ---- which form ------------------------------------------------------------------------------------- */

static void unknown_shape(const struct work *work, struct scenario_tree *shape)
{
    const char *nearest = NULL;
    int best = SCENARIO_MOST_NAME;
    for (int i = 0; i < FORMS && shape->type == SCENARIO_TEXT; i++) {
        if (forms[i].shape != NULL && scenario_is_nearer(shape->text, forms[i].shape, &best)) {
            nearest = forms[i].shape;
        }
    }
    scenario_wrong(work->binding, shape, scenario_path(work->binding, work->path, "shape"),
                   "is not a known shape (got %s%s%s%s)", scenario_tree_shown(work->binding->reading, shape),
                   nearest != NULL ? "; did you mean \"" : "", nearest != NULL ? nearest : "",
                   nearest != NULL ? "\"?" : "");
    work->node->is_faulty = true;
}

/* Of the forms of this shape, the one with most parameters given; NULL when the shape is unknown. */
static const struct form *form_of_shape(const struct scenario_tree *node, const char *shape)
{
    const struct form *best = NULL;
    for (int i = 0; i < FORMS; i++) {
        if (forms[i].shape != NULL && strcmp(forms[i].shape, shape) == 0 &&
            (best == NULL || given(&forms[i], node) > given(best, node))) {
            best = &forms[i];
        }
    }
    return best;
}

/* The form that the group is written in; NULL and a complaint when there is none. */
static const struct form *find_form(const struct work *work)
{
    struct scenario_tree *shape = scenario_tree_member(work->node, "shape");
    for (int i = 0; i < 2 && shape == NULL; i++) {
        if (given(&forms[1 - i], work->node) > 0) {
            return &forms[1 - i];
        }
    }
    if (shape == NULL) {
        scenario_wrong(work->binding, work->node, work->path,
                       "is no distribution: it has neither p10, p50 and p90, nor a shape, nor records");
        return NULL;
    }
    const struct form *form = shape->type == SCENARIO_TEXT ? form_of_shape(work->node, shape->text) : NULL;
    if (form == NULL) {
        unknown_shape(work, shape);
    } else if (work->to->is_date && !form->for_dates) {
        scenario_wrong(work->binding, shape, scenario_path(work->binding, work->path, "shape"),
                       "is no shape for dates (got \"%s\", allowed normal, uniform, triangular, pert)",
                       shape->text);
        form = NULL;
    }
    return form;
}

/* ---- keys ------------------------------------------------------------------------------------------- */

/* Shapes whose parameters may be drawn anew in each trial, as so many records leave them in doubt. */
static bool has_doubt(enum scenario_shape shape)
{
    static const bool can[] = {
        [SCENARIO_TRIPLET] = true, [SCENARIO_NORMAL] = true, [SCENARIO_LOGNORMAL] = true,
        [SCENARIO_LOGNORMAL_LOG] = true, [SCENARIO_GAMMA] = true, [SCENARIO_GAMMA_SHAPE] = true,
        [SCENARIO_WEIBULL] = true, [SCENARIO_WEIBULL_SHAPE] = true, [SCENARIO_EXPONENTIAL] = true,
        [SCENARIO_POISSON] = true, [SCENARIO_NEGATIVE_BINOMIAL] = true, [SCENARIO_RECORDS] = false};
    return can[shape];
}

static bool is_extra(const struct form *form, const char *name)
{
    if (strcmp(name, "smooth") == 0) {
        return form->as == SCENARIO_RECORDS;
    }
    if (strcmp(name, "shape") == 0) {
        return form->shape != NULL;
    }
    if (strcmp(name, "from_records") == 0) {
        return has_doubt(form->as);
    }
    for (int i = 0; i < EXTRAS; i++) {
        if (strcmp(extras[i], name) == 0) {
            return true;
        }
    }
    return false;
}

static const char *nearest_key(const char *name, bool *known)
{
    const char *nearest = NULL;
    int best = SCENARIO_MOST_NAME;
    for (int i = 0; i < EXTRAS; i++) {
        nearest = scenario_is_nearer(name, extras[i], &best) ? extras[i] : nearest;
    }
    for (int i = 0; i < FORMS; i++) {
        for (int j = 0; j < 4 && forms[i].parameters[j] != NULL; j++) {
            nearest = scenario_is_nearer(name, forms[i].parameters[j], &best) ? forms[i].parameters[j]
                                                                              : nearest;
        }
    }
    *known = nearest != NULL && strcmp(nearest, name) == 0;
    return nearest;
}

static void refuse_key(const struct work *work, struct scenario_tree *child)
{
    char takes[40];
    bool known;
    const char *nearest = nearest_key(child->name, &known);
    const char *path = scenario_path(work->binding, work->path, child->name);
    parameters_text(work->form, takes);
    if (known && work->form->shape != NULL) {
        scenario_wrong(work->binding, child, path, "does not go with shape \"%s\", which takes %s",
                       work->form->shape, takes);
    } else if (known) {
        scenario_wrong(work->binding, child, path, "does not go with %s", takes);
    } else {
        scenario_wrong(work->binding, child, path, "is not known in a distribution%s%s%s",
                       nearest != NULL ? " (did you mean " : "", nearest != NULL ? nearest : "",
                       nearest != NULL ? "?)" : "");
    }
    work->node->is_faulty = true;
}

static void check_keys(const struct work *work)
{
    char takes[40];
    parameters_text(work->form, takes);
    for (struct scenario_tree *child = work->node->first; child != NULL; child = child->next) {
        if (!has_parameter(work->form, child->name) && !is_extra(work->form, child->name)) {
            refuse_key(work, child);
        }
    }
    for (int i = 0; i < 4 && work->form->parameters[i] != NULL; i++) {
        if (scenario_tree_member(work->node, work->form->parameters[i]) == NULL) {
            scenario_wrong(work->binding, work->node, scenario_path(work->binding, work->path,
                                                                    work->form->parameters[i]),
                           "is missing: %s%s go together", work->form->shape != NULL ? "shape, " : "", takes);
        }
    }
    static const char *const texts[] = {"note", "source"};
    for (int i = 0; i < 2; i++) {
        struct scenario_tree *text = scenario_tree_member(work->node, texts[i]);
        if (text != NULL && scenario_bind_text(work->binding, text,
                                               scenario_path(work->binding, work->path, texts[i])) == NULL) {
            work->node->is_faulty = true;
        }
    }
}

/* ---- figures ---------------------------------------------------------------------------------------- */

/* A figure of the quantity itself: a date in days where it is one. False and a complaint when it is none. */
static bool figure(const struct work *work, struct scenario_tree *node, const char *path, double *value)
{
    if (work->to->is_date) {
        int day = scenario_bind_date(work->binding, node, path);
        bool before = work->setting->flags & SCENARIO_BEFORE_DAY_0 && day > LAST_DAY_BEFORE_0;
        *value = before ? day - SCENARIO_DAYS : day;
        return !node->is_faulty;
    }
    if (!scenario_tree_number(node, value)) {
        scenario_wrong(work->binding, node, path, "is not a number (got %s)",
                       scenario_tree_shown(work->binding->reading, node));
        return false;
    }
    return true;
}

/* A spread: a plain number, of dates in days. */
static bool spread(const struct work *work, struct scenario_tree *node, const char *path, double *value)
{
    if (scenario_tree_number(node, value)) {
        return true;
    }
    scenario_wrong(work->binding, node, path, "is not a number%s (got %s)",
                   work->to->is_date ? " of days" : "", scenario_tree_shown(work->binding->reading, node));
    return false;
}

/* Member `name` as a figure; does nothing when it is absent. True when it was there and right. */
static bool read_member(const struct work *work, const char *name, double *value)
{
    struct scenario_tree *node = scenario_tree_member(work->node, name);
    if (node == NULL) {
        return false;
    }
    const char *path = scenario_path(work->binding, work->path, name);
    bool right = strcmp(name, "sd") == 0 ? spread(work, node, path, value) : figure(work, node, path, value);
    work->node->is_faulty = work->node->is_faulty || !right;
    return right;
}

/* Member `name` as a list of figures. NULL when it is absent or wrong. */
static const double *read_list(const struct work *work, const char *name, bool plain, size_t *n)
{
    struct scenario_tree *node = scenario_tree_member(work->node, name);
    const char *path = scenario_path(work->binding, work->path, name);
    if (node == NULL) {
        return NULL;
    }
    if (node->type != SCENARIO_LIST || node->n < 1 || node->n > MOST_FIGURES) {
        scenario_wrong(work->binding, node, path, "is not a list of 1 to %d figures (got %s)", MOST_FIGURES,
                       scenario_tree_shown(work->binding->reading, node));
        work->node->is_faulty = true;
        return NULL;
    }
    *n = (size_t)node->n;
    double *list = scenario_take(work->binding->reading, *n, sizeof *list);
    int i = 0;
    for (struct scenario_tree *one = node->first; list != NULL && one != NULL; one = one->next, i++) {
        const char *its = scenario_print(work->binding->reading, "%s[%d]", path, i);
        if (!(plain ? spread(work, one, its, &list[i]) : figure(work, one, its, &list[i]))) {
            work->node->is_faulty = true;
        }
    }
    return list;
}

static void read_records(const struct work *work)
{
    struct scenario_tree *smooth = scenario_tree_member(work->node, "smooth");
    work->to->list = read_list(work, "records", false, &work->to->n);
    if (smooth == NULL) {
        return;
    }
    work->to->smooth = smooth->truth;
    if (smooth->type != SCENARIO_TRUTH) {
        scenario_wrong(work->binding, smooth, scenario_path(work->binding, work->path, "smooth"),
                       "is neither true nor false (got %s)",
                       scenario_tree_shown(work->binding->reading, smooth));
        work->node->is_faulty = true;
    }
}

static void read_counts(const struct work *work)
{
    size_t weights = 0;
    work->to->list = read_list(work, "values", false, &work->to->n);
    work->to->weights = read_list(work, "weights", true, &weights);
    if (work->to->list != NULL && work->to->weights != NULL && work->to->n != weights) {
        scenario_wrong(work->binding, work->node, work->path,
                       "has %zu values and %zu weights; there must be as many", work->to->n, weights);
    }
}

/* from_records: 2 to a thousand million, of settings that may say so. */
static void read_doubt(const struct work *work)
{
    struct scenario_tree *node = scenario_tree_member(work->node, "from_records");
    if (node == NULL || !has_doubt(work->form->as)) {
        return;
    }
    const char *path = scenario_path(work->binding, work->path, "from_records");
    if (!(work->setting->flags & SCENARIO_MAY_DOUBT)) {
        scenario_wrong(work->binding, node, path,
                       "has no effect here: last_frost, first_hard_frost, warmth, unit_kg, fruits, fruit_kg and "
                       "keeps_weeks can say from how many records they come");
    } else if (node->type != SCENARIO_WHOLE || node->whole < 2 || node->whole > 1000000000) {
        scenario_wrong(work->binding, node, path, "is not a whole number of records from 2 to 1000000000 (got %s)",
                       scenario_tree_shown(work->binding->reading, node));
    } else {
        work->to->from_records = (double)node->whole;
    }
    work->node->is_faulty = work->node->is_faulty || work->to->from_records == 0;
}

static void read_figures(const struct work *work)
{
    if (work->form->as == SCENARIO_RECORDS) {
        read_records(work);
    } else if (work->form->as == SCENARIO_COUNTS) {
        read_counts(work);
    } else {
        for (int i = 0; i < 3 && work->form->parameters[i] != NULL; i++) {
            read_member(work, work->form->parameters[i], &work->to->a[i]);
        }
    }
    work->to->has_least = read_member(work, "at_least", &work->to->at_least);
    work->to->has_most = read_member(work, "at_most", &work->to->at_most);
    read_doubt(work);
}

/* ---- the whole -------------------------------------------------------------------------------------- */

/* A plain figure: certain. */
static void read_certain(const struct work *work)
{
    const struct scenario_setting *setting = work->setting;
    if (work->to->is_date) {
        figure(work, work->node, work->path, &work->to->a[0]);
        return;
    }
    struct scenario_setting plain = {.type = SCENARIO_TYPE_REAL,
                                     .flags = setting->flags,
                                     .unit = setting->unit,
                                     .least = setting->least,
                                     .most = setting->most};
    scenario_bind_value(work->binding, &plain, work->node, work->path, &work->to->a[0]);
}

void scenario_bind_distribution(struct scenario_binding *binding, const struct scenario_setting *setting,
                                struct scenario_tree *node, const char *path,
                                struct scenario_distribution *to)
{
    *to = (struct scenario_distribution){.set = true, .bound = setting->bound,
                                         .is_date = (setting->flags & SCENARIO_IS_DATE) != 0};
    to->origin = scenario_origin_of(node, path);
    struct work work = {binding, setting, node, path, NULL, to};
    if (node->type != SCENARIO_GROUP) {
        to->shape = SCENARIO_CERTAIN;
        read_certain(&work);
        return;
    }
    node->is_one_value = true;
    work.form = find_form(&work);
    if (work.form == NULL) {
        node->is_faulty = true;
        return;
    }
    to->shape = work.form->as;
    check_keys(&work);
    read_figures(&work);
}
