#!/usr/bin/python3
"""One trial: the weeks of a household's stores from the beginning of its time line to the end of its last food year."""
import math

import numpy as np

from garden import CLASSES, FOODS, TINY, Fruit, grow

BOOK = ("opening", "in", "eaten", "dried_away", "trimmed", "store_loss", "given_away", "thrown_out", "seed",
        "left")


class Jar:
    __slots__ = ("season", "planting", "number", "kg", "begun", "end", "crop")

    def __init__(self, season, planting, number, kg, begun, end):
        self.season, self.planting, self.number = season, planting.index, number
        self.crop, self.kg, self.begun, self.end = planting.crop, kg, begun, end


class Year:
    """The books and tallies of one food year."""

    def __init__(self, first_week):
        self.first_week = first_week
        self.book = {food: dict.fromkeys(BOOK, 0.0) for food in FOODS}
        self.grown, self.field_loss = dict.fromkeys(FOODS, 0.0), dict.fromkeys(FOODS, 0.0)
        self.sorted_out = dict.fromkeys(FOODS, 0.0)
        self.lost_while_wanted = dict.fromkeys(FOODS, 0.0)
        self.kcal, self.protein = dict.fromkeys(FOODS, 0.0), dict.fromkeys(FOODS, 0.0)
        self.short_weeks = dict.fromkeys(FOODS + ("any",), 0)
        self.first_short = dict.fromkeys(FOODS + ("any",), math.inf)
        self.meals_short = dict.fromkeys(FOODS, 0.0)
        self.peak = dict.fromkeys(FOODS, 0)
        self.days = 0


class Trial:
    def __init__(self, plan, rng):
        self.plan, self.rng = plan, rng
        self.fruits, self.cut, self.jars = [], [], []  # cut: [kg, week it was cut, crop], oldest first
        self.held = [0] * len(plan.places)
        self.jar_numbers = {}
        self.seed_kept = {}  # (season, planting) -> kg set aside
        self.coming, self.settling = {}, {}
        self.drying = []  # pickings on their way, for the stock that eking out counts
        self.years, self.year = [], None
        self.weeks = []  # a row a week: (week, {food: (stock, count, short, by now, wanted, eaten, lost)})

    # ---- the seasons

    def units_of(self, n):
        """Units of every planting in season n: its own seed may not cover all."""
        out = []
        for p in self.plan.plantings:
            units = p.count
            if n > 0 and p.crop.kind == "beans" and p.crop.saves_seed and not p.crop.buys_seed and p.crop.seed_per_unit > 0:
                seed = self.seed_kept.get((n - 1, p.index), 0.0)
                if seed < p.crop.seed_per_unit * p.count * (1.0 - 1e-12):
                    units = math.floor(seed / p.crop.seed_per_unit + 1e-9)
            out.append(units)
        return out

    def grow_season(self, n):
        plan = self.plan
        harvest = grow(plan, self.rng, n, self.units_of(n))
        counted = plan.as_of if n == 0 else None
        if counted is not None and plan.season_to_come:
            for f in harvest.fruits:
                if f.cut <= counted:  # it comes the week after the count, as if cut then
                    p = plan.plantings[f.planting]
                    f.cut = counted + 1
                    f.rank(p, 0, 1.0)
            for k in harvest.pickings:
                k.arrives = max(k.arrives, counted + 1)
            harvest.latest = max(harvest.latest, counted + 1)
        elif counted is not None:
            for k in harvest.pickings:  # what came before the count is in what was counted, its seed put by
                if k.arrives <= counted:
                    self.keep_seed(0, k.planting, k.kg * (1.0 - k.sorted_share))
            harvest.pickings = [k for k in harvest.pickings if k.arrives > counted]
            harvest.fruits = [f for f in harvest.fruits if f.cut > counted]
        for f in harvest.fruits:
            self.coming.setdefault(f.cut, ([], []))[0].append(f)
        for k in harvest.pickings:
            self.coming.setdefault(k.arrives, ([], []))[1].append((n, k))
            self.drying.append(k)
        for i, week in harvest.settle.items():
            if counted is not None and plan.season_to_come:
                week = max(week, counted + 1)
            elif counted is not None and week <= counted:
                continue
            self.settling.setdefault(week, []).append((n, i))
        return harvest

    def keep_seed(self, n, planting, kg):
        """Set seed aside from kg of beans; what was taken is returned."""
        so_far = self.seed_kept.get((n, planting.index), 0.0)
        taken = min(kg, max(0.0, planting.seed_due - so_far))
        if kg - taken <= TINY:
            taken = kg
        self.seed_kept[(n, planting.index)] = so_far + taken
        return taken

    # ---- the time line

    def run(self):
        plan = self.plan
        harvest = self.grow_season(0)
        grown = {0: harvest}
        firsts = {0: harvest.first()}
        start = plan.as_of if plan.as_of is not None else firsts[0]
        self.start_year(start)
        self.put_on_shelf(start)
        if not plan.season_to_come:
            self.book_field(harvest)
        opened = 0 if not plan.season_to_come else -1  # the last season whose first produce has begun a food year
        week = start
        while True:
            while len(grown) <= plan.last_season and week >= 52 * len(grown):
                n = len(grown)
                grown[n] = self.grow_season(n)
                firsts[n] = grown[n].first()
            if opened + 1 in firsts and week >= firsts[opened + 1]:
                opened += 1
                self.close_year()
                if len(self.years) == plan.years:
                    break
                self.start_year(week)
                self.book_field(grown[opened])
                self.dry_fruit()
                self.throw_out(opened)
            elif week > start:
                self.dry_fruit()
            elif plan.as_of is None:
                self.throw_out(0)
            self.live(week)
            week += 1
        return self

    def start_year(self, week):
        self.year = Year(week)
        for food in FOODS:
            self.year.book[food]["opening"] = self.stock(food)

    def close_year(self):
        for food in FOODS:
            b = self.year.book[food]
            b["left"] = self.stock(food)
            came = b["opening"] + b["in"]
            went = sum(b[k] for k in BOOK[2:])
            if abs(came - went) > 1e-9 * max(came, 1e-6):
                raise AssertionError("books of %s do not balance: %r" % (food, b))
        self.years.append(self.year)

    def book_field(self, harvest):
        for food in FOODS:
            self.year.grown[food] += harvest.grown[food]
            self.year.field_loss[food] += harvest.field_loss[food]

    def stock(self, food):
        if food == "beans":
            return sum(j.kg for j in self.jars)
        return sum(f.kg for f in self.fruits) + sum(c[0] for c in self.cut)

    # ---- the shelf

    def put_on_shelf(self, week):
        plan = self.plan
        number = 0
        for entry in plan.shelf_squash:
            p = plan.by_name[entry["planting"]]
            day = plan.calendar.day(entry["cut"])
            cut = plan.calendar.week(entry["cut"])
            if plan.as_of is None or day > plan.as_of_day:
                cut -= 52
            names = [name for name, _, _ in plan.places]
            place = names.index(entry["place"]) if "place" in entry else 0
            kind = CLASSES[entry.get("cured", "well")]
            scale = plan.places[place][2] * p.crop.class_factor[kind]
            for _ in range(int(entry["fruits"])):
                if p.crop.keeps.sf((week - cut) / scale) <= 0.0:
                    raise ValueError("a fruit on the shelf is older than its life can be")
                keeps = float(p.crop.keeps.beyond(self.rng.random(), (week - cut) / scale))
                f = Fruit(p, -1, number, float(entry["kg"]), cut, kind, keeps)
                f.rank(p, place, plan.places[place][2])
                number += 1
                self.fruits.append(f)
                self.held[place] += 1
        for entry in plan.shelf_beans:
            p = plan.by_name[entry["planting"]]
            season = -int(entry.get("seasons_old", 1 if plan.as_of is None else 0))
            in_year = plan.calendar.week(entry["begun"]) if "begun" in entry else plan.usual["beans"][0]
            begun = min(52 * season + in_year, week)
            left = float(entry["kg"])
            while left > TINY:
                kg = min(left, plan.jar_kg)
                left -= kg
                self.begin_jar(season, p, kg, begun, week - begun)
        self.fruits.sort(key=lambda f: f.key)
        self.sort_jars()
        for food in FOODS:
            self.year.book[food]["opening"] = self.stock(food)

    def begin_jar(self, season, planting, kg, begun, age=0):
        number = self.jar_numbers.get((season, planting.index), 0)
        self.jar_numbers[(season, planting.index)] = number + 1
        end = math.inf
        law = self.plan.jar_keeps
        if law is not None:
            u = self.rng.random()
            if age > 0:
                if law.sf(age) <= 0.0:
                    raise ValueError("a jar on the shelf is older than its life can be")
                end = begun + float(law.beyond(u, age))
            else:
                end = begun + float(law.ppf(u))
        self.jars.append(Jar(season, planting, number, kg, begun, end))

    def sort_jars(self):
        self.jars.sort(key=lambda j: (j.season, j.planting, j.number))

    # ---- one week

    def live(self, w):
        plan, year = self.plan, self.year
        lost_before = {food: year.book[food]["store_loss"] for food in FOODS}
        eaten_before = {food: year.book[food]["eaten"] for food in FOODS}
        self.arrive(w)
        self.settle_seed(w)
        year.peak["beans"] = max(year.peak["beans"], len(self.jars))
        year.peak["squash"] = max(year.peak["squash"], len(self.fruits))
        if w % plan.look_over == 0:
            for f in [f for f in self.fruits if f.end <= w]:
                self.open_dead(f, w)
        for j in [j for j in self.jars if j.end <= w]:
            year.book["beans"]["store_loss"] += j.kg
            self.jars.remove(j)
        self.eat(w, lost_before, eaten_before)
        year.days += 8 if w % 52 == 51 else 7

    def dry_fruit(self):
        dried = 0.0
        for f in self.fruits:
            loss = f.kg * f.crop.drying
            f.kg -= loss
            dried += loss
        self.year.book["squash"]["dried_away"] += dried

    def throw_out(self, season):
        if self.plan.keep_seasons is None:
            return
        for j in [j for j in self.jars if season - j.season > self.plan.keep_seasons]:
            self.year.book["beans"]["thrown_out"] += j.kg
            self.jars.remove(j)

    def arrive(self, w):
        fruits, pickings = self.coming.pop(w, ((), ()))
        self.drying = [k for k in self.drying if k.arrives > w]
        book = self.year.book
        for f in sorted(fruits, key=lambda f: (f.planting, f.unit, f.number)):
            book["squash"]["in"] += f.kg
            for i, (_, holds, keeps_factor) in enumerate(self.plan.places):
                if self.held[i] + 1 <= holds:
                    f.rank(self.plan.plantings[f.planting], i, keeps_factor)
                    self.held[i] += 1
                    self.fruits.append(f)
                    break
            else:
                book["squash"]["given_away"] += f.kg
        if fruits:
            self.fruits.sort(key=lambda f: f.key)
        for n, k in sorted(pickings, key=lambda nk: (nk[1].planting.index, nk[0], nk[1].picked)):
            good = k.kg * (1.0 - k.sorted_share)
            self.year.sorted_out["beans"] += k.kg * k.sorted_share
            book["beans"]["in"] += good
            seed = self.keep_seed(n, k.planting, good)
            book["beans"]["seed"] += seed
            self.put_up(n, k.planting, good - seed, w)
        if pickings:
            self.sort_jars()

    def put_up(self, n, planting, kg, w):
        mine = [j for j in self.jars if j.season == n and j.planting == planting.index]
        last = max(mine, key=lambda j: j.number, default=None)
        if last is not None and last.number == self.jar_numbers[(n, planting.index)] - 1 and kg > TINY:
            room = max(0.0, self.plan.jar_kg - last.kg)
            more = kg if kg <= room + TINY else room  # a speck over the brim begins no jar
            last.kg += more
            kg -= more
        while kg > 0.0:
            put = kg if kg <= self.plan.jar_kg + TINY else self.plan.jar_kg
            kg -= put
            self.begin_jar(n, planting, put, w)

    def settle_seed(self, w):
        """A planting's shortfall of seed is made up from its crop's jars, newest first."""
        for n, i in sorted(self.settling.pop(w, ()), key=lambda ni: ni[1]):
            p = self.plan.plantings[i]
            short = p.seed_due - self.seed_kept.get((n, i), 0.0)
            if short <= TINY:
                continue
            mine = [j for j in self.jars if j.crop is p.crop]
            mine.sort(key=lambda j: (j.season, j.begun, j.planting, j.number), reverse=True)
            for j in mine:
                taken = self.take_from(j, short)
                self.year.book["beans"]["seed"] += taken
                self.seed_kept[(n, i)] = self.seed_kept.get((n, i), 0.0) + taken
                short -= taken
                if short <= TINY:
                    break

    def take_from(self, jar, kg):
        """Take up to kg from a jar; an empty jar is gone."""
        if jar.kg - kg <= TINY:
            kg = jar.kg
            self.jars.remove(jar)
        jar.kg -= kg
        return kg

    def open_dead(self, f, w):
        """A fruit whose life has ended is found: part of its flesh is kept, the rest lost."""
        self.fruits.remove(f)
        self.held[f.place] -= 1
        kept = f.kg * f.crop.flesh * self.plan.salvage ** max(1.0, w - f.end)
        if kept > 0.0:
            self.cut.append([kept, w, f.crop])
        self.year.book["squash"]["store_loss"] += f.kg - kept

    def open_whole(self, w):
        """Open the next fruit; False if none may be eaten."""
        f = next((f for f in self.fruits if f.edible <= w), None)
        if f is None:
            return False
        if f.end <= w:
            self.open_dead(f, w)
        else:
            self.fruits.remove(f)
            self.held[f.place] -= 1
            self.year.book["squash"]["trimmed"] += f.kg * (1.0 - f.crop.flesh)
            self.cut.append([f.kg * f.crop.flesh, w, f.crop])
        return True

    def book_eaten(self, food, kg, crop):
        self.year.book[food]["eaten"] += kg
        self.year.kcal[food] += kg * crop.kcal
        self.year.protein[food] += kg * crop.protein

    def serve_squash(self, kg, w):
        served = 0.0
        while kg - served > TINY:
            if not self.cut:
                if not self.open_whole(w):
                    break
                continue
            piece = self.cut[0]
            take = min(piece[0], kg - served)
            piece[0] -= take
            if piece[0] <= 0.0:
                self.cut.pop(0)
            served += take
            self.book_eaten("squash", take, piece[2])
        return served

    def serve_beans(self, kg):
        served = 0.0
        while kg - served > TINY and self.jars:
            j = self.jars[0]
            crop = j.crop
            take = self.take_from(j, kg - served)
            served += take
            self.book_eaten("beans", take, crop)
        return served

    def eked(self, food, w):
        """The share of its want a food is scaled to."""
        plan = self.plan
        need = plan.eke_need[food][w % 52] if plan.eke_least is not None else None
        if not need:
            return 1.0
        if food == "beans":
            stock = self.stock("beans")
            stock += sum(k.kg * (1.0 - k.sorted_share) for k in self.drying if k.picked <= w)
        else:
            stock = sum(f.kg * f.crop.flesh for f in self.fruits) + sum(c[0] for c in self.cut)
        return max(plan.eke_least, min(1.0, stock / need))

    def eat(self, w, lost_before, eaten_before):
        plan, year = self.plan, self.year
        mouths = plan.eaters
        if self.rng.random() < plan.guest_chance:
            mouths += plan.guest_portions
        wanted = {food: mouths * plan.per_unit[food][w % 52] for food in FOODS}
        asked = {food: wanted[food] * (self.eked(food, w) if wanted[food] > 0.0 else 1.0) for food in FOODS}
        served = {"squash": self.serve_squash(asked["squash"], w), "beans": self.serve_beans(asked["beans"])}
        gap = {food: max(0.0, asked[food] - served[food]) for food in FOODS}
        if plan.beans_stand_in and gap["squash"] > TINY and plan.portion["beans"] > 0.0:
            rate = plan.portion["beans"] / plan.portion["squash"]
            served["squash"] += self.serve_beans(gap["squash"] * rate) / rate
        if plan.squash_stands_in and gap["beans"] > TINY and plan.portion["squash"] > 0.0:
            rate = plan.portion["squash"] / plan.portion["beans"]
            served["beans"] += self.serve_squash(gap["beans"] * rate, w) / rate
        for piece in [c for c in self.cut if w >= c[1] + plan.cut_keeps]:
            year.book["squash"]["store_loss"] += piece[0]
            self.cut.remove(piece)
        self.book_week(w, wanted, served, lost_before, eaten_before)

    def book_week(self, w, wanted, served, lost_before, eaten_before):
        plan, year = self.plan, self.year
        row, any_short = [], 0
        for food in FOODS:
            short = 0
            if wanted[food] > 0.0:
                share = served[food] / wanted[food]
                year.meals_short[food] += max(0.0, 1.0 - share) * plan.meals[food]
                short = int(share < plan.enough - 1e-9)
            lost = year.book[food]["store_loss"] - lost_before[food]
            if wanted[food] > 0.0:
                year.lost_while_wanted[food] += lost
            self.tally_short(food, w, short)
            any_short |= short
            count = len(self.jars) if food == "beans" else len(self.fruits)
            row += [self.stock(food), count, short, year.short_weeks[food] > 0, wanted[food],
                    year.book[food]["eaten"] - eaten_before[food], lost]
        self.tally_short("any", w, any_short)
        row += [any_short, year.short_weeks["any"] > 0]
        self.weeks.append((w, row))

    def tally_short(self, food, w, short):
        if short:
            self.year.short_weeks[food] += 1
            self.year.first_short[food] = min(self.year.first_short[food], w)


def run(plan, seed_sequence, first, last):
    """Trials first..last-1, each on its own stream; yields finished trials."""
    for number in range(first, last):
        rng = np.random.Generator(np.random.PCG64(np.random.SeedSequence([seed_sequence, number])))
        yield Trial(plan, rng).run()
