"""Generations in sheets of trees and lots: one cell, derived where the parents are known, refused where they contradict it."""

from contextlib import suppress
from graphlib import CycleError, TopologicalSorter

from registry.calc.pedigree.generation import NAMED, contradicts_parents, parse_generation
from registry.choices import CrossType, LotOrigin
from registry.imports.sheets.cells.records import Ahead
from registry.imports.sheets.plan import NEW, UNCHANGED, Problem
from registry.selectors.pedigree.generations import (
    father_generations,
    generation_words_on_file,
    not_of_parents,
    only_generation,
    pool_generations,
)

_ORIGINS = ("mother", "father", "pollen_pool", "generation")
NEEDED = "is blank, and does not follow from the parents; write the generation, or the codes of both parents"


class GenerationMixin:
    """A generation is one cell in a sheet and two numbers or a word in the records."""

    generation_needed = False

    def current_value(self, record, name, field):
        return record.generation if name == "generation" else super().current_value(record, name, field)

    def save_row(self, values, item, actor, reason):
        if "generation" in values:  # a blank cell is not; None takes a generation back that a load had stated
            generation = values.pop("generation")
            record = item.current or self.model()
            record.backcrosses, record.intercrosses, record.generation_other = (
                (generation.backcrosses, generation.intercrosses, generation.other) if generation else (None, None, "")
            )
            item.current = record
        return super().save_row(values, item, actor, reason)

    def check_items(self, plan):
        super().check_items(plan)
        self._check_words(plan)
        self._check_generations(plan)

    def _check_words(self, plan):
        """Say which words are new as a generation, so that a slip shows before it is stored."""
        words = None
        for item in plan.items:
            generation = item.values.get("generation")
            if item.outcome == UNCHANGED or generation is None or not generation.other or generation.code in NAMED:
                continue
            words = generation_words_on_file(self.model) if words is None else words
            if generation.other not in words and not _is_cross(generation):
                words.add(generation.other)
                message = "is stored as a word, with no share of its own; correct it if a code such as B3F2 is meant"
                plan.warnings.append(Problem(item.row, self.header("generation"), generation.other, message))

    def _check_generations(self, plan):
        """Parents first, so that a generation derived for a parent in the sheet is known for its offspring."""
        rows = {item.values["code"]: _Row(item) for item in plan.items}
        pools = pool_generations({row.pollen_pool.pk for row in rows.values() if row.pollen_pool})
        known = {}
        order = TopologicalSorter({code: [parent.code for parent in (row.mother, row.father) if parent] for code, row in rows.items()})
        with suppress(CycleError):  # a loop is among the problems already
            order.prepare()
        while ready := order.get_ready():
            for code in ready:
                if code in rows:
                    known[code] = self._check_generation(plan, rows[code], known, pools)
            order.done(*ready)

    def _check_generation(self, plan, row, known, pools):
        item, stated = row.item, row.generation

        def generation(parent):
            return known[parent.code] if parent.code in known else None if isinstance(parent, Ahead) else parent.generation

        mother = generation(row.mother) if row.mother else None
        members = None
        if row.pollen_pool:
            members = {code: known.get(code, member) for code, member in pools[row.pollen_pool.pk].items()}
        fathers = father_generations(
            row.mother.code if row.mother else "",
            mother,
            father=row.father and (generation(row.father),),
            members=members,
            own_pollen=row.cross_type == CrossType.SELF or bool(row.pollen_pool and row.pollen_pool.selfing_share),
        )
        derived = only_generation(mother, fathers) if row.is_cross and row.mother else None
        if stated is None:
            if item.outcome == NEW and derived is not None:
                item.values["generation"] = derived
            elif item.outcome == NEW and self.generation_needed and not (row.mother and fathers):
                self._add_problem(plan, Problem(item.row, self.header("generation"), "", NEEDED))
            return derived
        if derived is not None and row.speaks and stated.code != derived.code:
            problem = Problem(item.row, self.header("generation"), stated.code, not_of_parents(derived))
            if any(contradicts_parents(stated, mother, father) for father in fathers):
                self._add_problem(plan, problem)
            elif stated.backcrosses is not None:
                plan.warnings.append(problem)
        return stated


def _is_cross(generation):
    """Whether a word is a cross of two codes."""
    with suppress(ValueError):
        return len([parse_generation(part) for part in generation.other.split("×")]) == 2
    return False


class _Row:
    """What a row and the record it changes say together."""

    def __init__(self, item):
        self.item = item
        for name in (*_ORIGINS, "cross_type"):
            setattr(self, name, item.values.get(name, getattr(item.current, name, None)))
        origin = item.values.get("origin", getattr(item.current, "origin", LotOrigin.HARVEST))
        self.is_cross = origin == LotOrigin.HARVEST
        self.speaks = item.outcome == NEW or not item.changes.keys().isdisjoint(_ORIGINS)
