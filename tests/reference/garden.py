#!/usr/bin/python3
"""A scenario made ready (Plan), and what one growing season brings (grow)."""
import math

import numpy as np
from scipy import special

import dist
import weather

FOODS = ("beans", "squash")
TINY = 1e-12
CLASSES = {"unripe": 0, "poor": 1, "well": 2}
OVERRIDES = ("plant_out", "cut_by", "pick_until", "stands", "blow_down", "waits_for_frost", "left_to_dry",
             "left_to_store")


class Crop:
    def __init__(self, name, g, calendar):
        self.name, self.kind = name, g["kind"]
        if self.kind not in FOODS:
            raise ValueError("%s: kind is neither beans nor squash" % name)
        law = lambda key, sort, default=None: dist.make(g.get(key, default), sort) if g.get(key, default) is not None else None
        self.year_factor = law("year_factor", "factor", 1.0)
        self.follows = float(g.get("follows_warmth", 0.0))
        self.base = float(g.get("base_c", 0.0))
        self.kcal, self.protein = float(g.get("kcal_per_kg", 0.0)), float(g.get("protein_g_per_kg", 0.0))
        if self.kind == "squash":
            self.fruits, self.fruit_kg = law("fruits", "count"), law("fruit_kg", "mass")
            self.heat_to_ripen, self.die_back = law("heat_to_ripen", "heat"), law("die_back_heat", "heat")
            self.keeps = law("keeps_weeks", "weeks")
            self.cures_well, self.cure_weeks = float(g.get("cures_well", 1.0)), int(g.get("cure_weeks", 0))
            self.class_factor = (float(g.get("unripe_factor", 1.0)), float(g.get("poor_cure_factor", 1.0)),
                                 1.0)
            self.drying = float(g.get("drying_loss_per_week", 0.0))
            self.flesh = float(g.get("flesh_share", 1.0))
            self.before_frost = int(g.get("cut_before_frost_days", 1))
        else:
            self.unit_kg, self.heat_to_dry = law("unit_kg", "mass"), law("heat_to_dry", "heat")
            self.first_share = float(g.get("first_pick_share", 0.02))
            self.finish_heat, self.finish_share = float(g.get("finish_indoors_heat",
                                                              0.0)), float(g.get("finish_share", 0.0))
            self.drying_weeks = int(g.get("indoor_drying_weeks", 0))
            self.sorted_out = law("sorted_out", "share", 0.0)
            self.saves_seed, self.buys_seed = bool(g.get("saves_seed", False)), bool(g.get("buys_seed", True))
            self.seed_per_unit, self.spare = float(g.get("seed_kg_per_unit", 0.0)), float(g.get("seed_spare", 0.0))


class Planting:
    def __init__(self, index, name, own, crops, crop_settings, calendar):
        self.index, self.name = index, name
        self.crop = crops[own["crop"]]
        g = dict(crop_settings[own["crop"]])
        g.update({k: own[k] for k in OVERRIDES if k in own})
        self.count = float(own["count"])
        self.plant_out = calendar.day(g["plant_out"])
        self.last_day = calendar.day(g["cut_by" if self.crop.kind == "squash" else "pick_until"])
        self.stands = dist.make(g.get("stands", 1.0), "share")
        self.blow_down, self.shared = float(g.get("blow_down", 0.0)), g.get("support", "each") == "shared"
        self.blow_loses = float(g.get("blow_down_loses", 1.0))
        self.waits, self.frost_kills = bool(g.get("waits_for_frost", True)), float(g.get("frost_kills", 1.0))
        self.left = float(g.get("left_to_store" if self.crop.kind == "squash" else "left_to_dry", 1.0))
        self.rank = float(own.get("eat_rank", 0))
        self.seed_due = 0.0
        if self.crop.kind == "beans" and self.crop.saves_seed:
            self.seed_due = self.crop.seed_per_unit * self.count * (1.0 + self.crop.spare)


class Plan:
    """Everything of a scenario that is the same in every trial."""

    def __init__(self, g):
        self.calendar = weather.Calendar(g.get("year_starts", "03-01"))
        self.years = int(g.get("food_years", 1))
        self.weather = weather.make(g["climate"], self.calendar)
        self.crops = {n: Crop(n, c, self.calendar) for n, c in g.get("crops", {}).items()}
        self.plantings = [Planting(i, n, p, self.crops, g["crops"], self.calendar)
                          for i, (n, p) in enumerate(g.get("plantings", {}).items())]
        self.by_name = {p.name: p for p in self.plantings}
        self.read_household(g["household"])
        self.read_store(g.get("store", {}), g.get("places", []))
        self.read_shelf(g.get("on_shelf"))
        self.usual = None
        if self.eke_least is not None or self.as_of is not None or self.shelf_beans:
            self.usual = pilot(self)
        self.season_to_come = self.as_of is not None and self.as_of < self.usual["any"]
        self.last_season = self.years - 1 if self.season_to_come else self.years
        if self.eke_least is not None:
            self.make_needs()

    def read_household(self, h):
        self.eaters = sum(float(e["count"]) * float(e.get("portion", 1.0)) for e in h["eaters"])
        guests = h.get("guests", {})
        self.guest_chance, self.guest_portions = float(guests.get("chance",
                                                                  0.0)), float(guests.get("portions", 0.0))
        self.meals, self.portion, self.per_unit = {}, {}, {}
        away = [(self.calendar.day(a["from"]), self.calendar.day(a["until"])) for a in h.get("away", [])]
        for food in FOODS:
            m = h.get("meals", {}).get(food)
            self.meals[food] = float(m["meals_per_week"]) if m else 0.0
            self.portion[food] = float(m["portion_kg"]) if m else 0.0
            window = (self.calendar.day(m["from"]), self.calendar.day(m["until"])) if m and "from" in m else None
            wanted = [within(7 * w, window) and not any(within(7 * w, a) for a in away) for w in range(52)]
            self.per_unit[food] = [self.meals[food] * self.portion[food] * on for on in wanted]
        self.beans_stand_in, self.squash_stands_in = bool(h.get("beans_stand_in",
                                                                False)), bool(h.get("squash_stands_in",
                                                                                    False))
        self.enough = float(h.get("enough", 1.0))
        self.eke_least = float(h["eke_out"]["least"]) if "least" in h.get("eke_out", {}) else None
        needs = h.get("needs", {})
        self.kcal_need = float(needs["kcal_per_day"]) if "kcal_per_day" in needs else None
        self.protein_need = float(needs["protein_g_per_day"]) if "protein_g_per_day" in needs else None

    def read_store(self, s, places):
        self.look_over, self.salvage = int(s.get("look_over_weeks", 1)), float(s.get("salvage_share", 0.0))
        self.cut_keeps = int(s.get("cut_keeps_weeks", 1))
        self.jar_kg = float(s.get("jar_kg", 1.0))
        self.jar_keeps = dist.make(s["jar_keeps_weeks"], "weeks") if "jar_keeps_weeks" in s else None
        self.keep_seasons = int(s["beans_keep_seasons"]) if "beans_keep_seasons" in s else None
        self.places = [(p.get("name", ""), float(p.get("holds", math.inf)), float(p.get("keeps_factor", 1.0)))
                       for p in places] or [("", math.inf, 1.0)]

    def read_shelf(self, shelf):
        self.shelf_squash = list(shelf.get("squash", [])) if shelf else []
        self.shelf_beans = list(shelf.get("beans", [])) if shelf else []
        as_of = shelf.get("as_of") if shelf else None
        self.as_of_day = self.calendar.day(as_of) if as_of else None
        self.as_of = self.calendar.week(as_of) if as_of else None

    def make_needs(self):
        """eke_need[food][week of the year]: expected want from this week to the week before the next usual first
        arrival, or None where wants are not scaled."""
        mean_eaters = self.eaters + self.guest_chance * self.guest_portions
        self.eke_need = {}
        for food in FOODS:
            self.eke_need[food] = [None] * 52
            if food not in self.usual:
                continue
            first, last = self.usual[food]
            for w in range(52):
                for n in (-2, -1, 0):
                    if last + 52 * n <= w <= first + 52 * (n + 1) - 1:
                        weeks = range(w, first + 52 * (n + 1))
                        self.eke_need[food][w] = mean_eaters * sum(self.per_unit[food][v % 52] for v in weeks)


def within(day, window):
    if window is None:
        return True
    first, last = window
    return first <= day <= last if first <= last else day >= first or day <= last


class Fruit:
    __slots__ = ("planting", "unit", "number", "kg", "cut", "kind", "keeps", "place", "end", "edible", "key",
                 "crop")

    def __init__(self, planting, unit, number, kg, cut, kind, keeps):
        self.planting, self.unit, self.number = planting.index, unit, number
        self.crop, self.kg, self.cut, self.kind, self.keeps = planting.crop, kg, cut, kind, keeps
        self.key = None
        self.rank(planting, 0, 1.0)

    def rank(self, planting, place, keeps_factor):
        """Put it in a place: its end and its turn to be eaten follow."""
        self.place = place
        self.end = self.cut + self.keeps * keeps_factor * self.crop.class_factor[self.kind]
        self.edible = self.cut if self.kind == 0 else self.cut + self.crop.cure_weeks
        self.key = (self.kind, planting.rank, keeps_factor, self.cut, self.planting, self.unit, self.number)


class Picking:
    __slots__ = ("planting", "picked", "arrives", "kg", "sorted_share")

    def __init__(self, planting, picked, arrives, kg, sorted_share):
        self.planting, self.picked, self.arrives, self.kg, self.sorted_share = planting, picked, arrives, kg, sorted_share


class Harvest:
    """What season n brings: fruits and pickings by week of arrival, field books, and when seed is settled."""

    def __init__(self, plan, n):
        self.n = n
        self.fruits, self.pickings = [], []
        self.grown, self.field_loss = dict.fromkeys(FOODS, 0.0), dict.fromkeys(FOODS, 0.0)
        self.settle = {}
        self.latest = 52 * n + weather.week_of_day(max([p.last_day for p in plan.plantings], default=0))

    def weeks(self, food):
        return [f.cut for f in self.fruits] if food == "squash" else [p.arrives for p in self.pickings]

    def first(self):
        return min(self.weeks("beans") + self.weeks("squash"), default=self.latest)


def grow(plan, rng, n, counts):
    """One season. counts[i]: units of planting i this season."""
    harvest = Harvest(plan, n)
    season = plan.weather.draw(rng)
    factors = {}
    for name, crop in plan.crops.items():
        score = crop.follows * season.z + math.sqrt(max(0.0, 1.0 - crop.follows ** 2)) * rng.standard_normal()
        factors[name] = float(crop.year_factor.ppf(special.ndtr(score)))
    for p in plan.plantings:
        units = counts[p.index]
        out = max(p.plant_out, season.last_frost + 1) if p.waits else p.plant_out
        out = min(out, 364)
        n_units = int(math.ceil(units - 1e-9))
        stands = rng.random(n_units) < float(p.stands.ppf(rng.random()))
        if not p.waits and season.last_frost >= p.plant_out:
            stands &= ~(rng.random(n_units) < p.frost_kills)
        down = np.full(n_units, rng.random() < p.blow_down) if p.shared else rng.random(n_units) < p.blow_down
        part = np.ones(n_units)
        if n_units:
            part[-1] = units - (n_units - 1)
        heat = season.heat(p.crop.base)
        args = (plan, rng, harvest, p, season, factors[p.crop.name], out, heat, stands, down, part)
        (grow_squash if p.crop.kind == "squash" else grow_beans)(*args)
    return harvest


def grow_squash(plan, rng, harvest, p, season, factor, out, heat, stands, down, part):
    crop = p.crop
    cut = p.last_day
    if season.first_hard_frost < weather.NEVER:
        cut = min(cut, season.first_hard_frost - crop.before_frost)
    if crop.die_back is not None:
        need = float(crop.die_back.ppf(rng.random()))
        cut = min(cut, max(out, int(np.searchsorted(heat, heat[out] + need, side="left"))))
    cut = max(cut, out)
    week = 52 * harvest.n + weather.week_of_day(cut)
    warmth_had = heat[cut] - heat[out]
    borne = crop.fruits.ppf(rng.random(len(stands))).astype(int)
    unit_of = np.repeat(np.arange(len(stands)), borne)
    m = len(unit_of)
    kg = crop.fruit_kg.ppf(rng.random(m)) * factor
    ripe = warmth_had >= crop.heat_to_ripen.ppf(rng.random(m))
    cured = rng.random(m) < crop.cures_well
    kinds = np.where(ripe, np.where(cured, 2, 1), 0)
    keeps = crop.keeps.ppf(rng.random(m))
    there = stands[unit_of] & (rng.random(m) < part[unit_of]) & (rng.random(m) < p.left)
    lost = there & down[unit_of] & (rng.random(m) < p.blow_loses)
    harvest.grown["squash"] += float(kg[there].sum())
    harvest.field_loss["squash"] += float(kg[lost].sum())
    for i in np.flatnonzero(there & ~lost):
        harvest.fruits.append(Fruit(p, int(unit_of[i]), int(i), float(kg[i]), week, int(kinds[i]),
                                    float(keeps[i])))


def grow_beans(plan, rng, harvest, p, season, factor, out, heat, stands, down, part):
    crop = p.crop
    seed = crop.unit_kg.ppf(rng.random(len(stands))) * factor * p.left * part * stands
    sorted_share = float(crop.sorted_out.ppf(rng.random()))
    standing = float((seed * np.where(down, 1.0 - p.blow_loses, 1.0)).sum())
    harvest.grown["beans"] += float(seed.sum())
    end = p.last_day
    if season.first_hard_frost < weather.NEVER:
        end = min(end, season.first_hard_frost - 1)
    end = max(end, out)
    last_week = weather.week_of_day(end)
    weeks = list(range(weather.week_of_day(out), last_week))
    ends = [7 * w + 7 for w in weeks] + [end]
    had = np.maximum(heat[ends] - heat[out], 0.0)
    dry = crop.heat_to_dry.cdf(np.append(had, had[-1] + crop.finish_heat))
    base = 52 * harvest.n
    taken, kept, begun = 0.0, 0.0, False
    for w, share in zip(weeks, dry):
        begun = begun or share >= crop.first_share
        if begun:
            kept += pick(harvest, p, base + w, standing * float(share - taken), sorted_share)
            taken = share
    finished = crop.finish_share * float(dry[-1] - dry[-2])
    kept += pick(harvest, p, base + last_week, standing * (float(dry[-2] - taken) + finished), sorted_share)
    harvest.field_loss["beans"] += float(seed.sum()) - kept
    harvest.settle[p.index] = base + last_week + crop.drying_weeks


def pick(harvest, p, week, kg, sorted_share):
    """A picking that brings something is on its way; what it weighs is returned."""
    if kg <= TINY:
        return 0.0
    harvest.pickings.append(Picking(p, week, week + p.crop.drying_weeks, kg, sorted_share))
    return kg


def lower_quantile(values, p):
    """The lower order statistic x[floor((n - 1) p)] of the sorted values."""
    x = np.sort(np.asarray(values))
    return x[int(math.floor((len(x) - 1) * p + 1e-9))]


def pilot(plan, trials=1024):
    """Usual weeks: medians over the pilot's seasons, on luck of its own."""
    rng = np.random.default_rng(20010301)
    counts = [p.count for p in plan.plantings]
    found = {food: ([], []) for food in FOODS}
    any_first = []
    for _ in range(trials):
        harvest = grow(plan, rng, 0, counts)
        for food in FOODS:
            weeks = harvest.weeks(food)
            if weeks:
                found[food][0].append(min(weeks))
                found[food][1].append(max(weeks))
        if harvest.fruits or harvest.pickings:
            any_first.append(harvest.first())
    usual = {}
    for food in FOODS:
        mine = [p.last_day for p in plan.plantings if p.crop.kind == food]
        if not mine:
            continue
        fallback = weather.week_of_day(max(mine))
        usual[food] = tuple(int(lower_quantile(x, 0.5)) if x else fallback for x in found[food])
    latest = weather.week_of_day(max([p.last_day for p in plan.plantings], default=0))
    usual["any"] = int(lower_quantile(any_first, 0.5)) if any_first else latest
    return usual
