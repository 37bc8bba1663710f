"""One line of a wall schedule as faces: each cell read as the job file's reader would read it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace

from curing.errors import Problem
from curing.model.answers import FaceAnswers
from curing.model.job import Face
from curing.model.quantities import clip, parse
from curing.sources.answer_checks import field_fault
from curing.sources.table_file import Row, Table
from curing.sources.table_numbers import Decimals, decimals_of
from curing.sources.wall_cells import (
    NoUnitError,
    blank,
    direction,
    fault_of,
    measure,
    product,
    side_of,
    two_lengths,
    unknown_system,
    yes_or_no,
)
from curing.sources.wall_columns import FITS, Column, Header

MEASURES = ("area", "width", "height", "dimensions", "thickness")


class FaceReader:
    """Reads the cells of rows, and gathers what is wrong with them and what they lack.

    Parameters
    ----------
    table, header
        What is read.
    systems
        Id of each coat system at hand → the sides it is for.
    given
        What holds for all faces that have none of their own.
    """

    def __init__(
        self, table: Table, header: Header, systems: Mapping[str, Collection[str]], given: Mapping[str, str]
    ) -> None:
        self.table, self.header, self.given = table, header, given
        self.problems: list[Problem] = []
        self.lacking: set[str] = set()
        self.computed = 0
        self.fields = {one.field for one in header.columns}
        self.columns = {(one.field, one.side): one for one in reversed(header.columns) if one.field}
        self._systems = systems
        self._sided = {one.side for one in header.columns if one.side}
        self._unitless: dict[int, Row] = {}
        self._without = 0
        numbers = [one.index for one in header.columns if one.field in MEASURES]
        cells = (row.cell(index) for row in header.rows for index in numbers)
        self.decimals: Decimals = decimals_of(cells, expect_comma=table.separator == ";")

    def _no_unit(self, column: Column, row: Row) -> None:
        self._unitless.setdefault(column.index, row)
        self._without += 1

    def tell_unitless(self) -> None:
        """Tell of columns whose numbers have no unit, once each."""
        for index, row in self._unitless.items():
            column = next(one for one in self.header.columns if one.index == index)
            ways = " or ".join(f'"{clip(column.header)} ({unit})"' for unit in FITS[column.field])
            text = f'"{clip(column.header)}": numbers without a unit, first in line {row.line}; write {ways}'
            self.problems.append(self.table.problem(self.header.row, index, text))

    def cell(self, row: Row, name: str, side: str = "") -> tuple[Column | None, str]:
        """Return the column and the text of a field, of this side where it has a column of its own."""
        column = (self.columns.get((name, side)) if side else None) or self.columns.get((name, ""))
        text = row.cell(column.index) if column else ""
        return column, "" if blank(text) else text

    def fault(self, row: Row, column: Column | None, label: str, text: str) -> None:
        """Tell of what is wrong with a thing at a cell."""
        self.problems.append(self.table.problem(row, column.index if column else 0, f"{label}: {text}"))

    def sides(self, row: Row, key: str) -> tuple[str, ...]:
        """Return the sides a row is for; ``""`` where it does not say, nothing where that is wrong."""
        column, said = self.cell(row, "side")
        if said:
            side = side_of(said)
            if not side:
                text = f'side "{clip(said)}"; write out, in or both'
                self.fault(row, column, f'wall "{clip(key)}"' if key else f"line {row.line}", text)
                return ()
            return ("out", "in") if side == "both" else (side,)
        if self._sided:
            areas = {side for side in ("out", "in") if self._own_area(row, side)}
            return tuple(side for side in ("out", "in") if side in (areas or self._sided))
        return {"both": ("out", "in"), "": ("",)}.get(given := self.given.get("side", ""), (given,))

    def _own_area(self, row: Row, side: str) -> bool:
        own = [self.columns.get((name, side)) for name in ("area", "dimensions", "width")]
        return any(column and not blank(row.cell(column.index)) for column in own)

    def value(self, row: Row, name: str, side: str, label: str) -> str:
        """Return a field as a job file writes it; nothing where the cell is blank or wrong, which is told."""
        column, text = self.cell(row, name, side)
        if column is None or not text:
            return ""
        try:
            if name in MEASURES:
                text = measure(text, column.unit, self.decimals)
            elif name == "facing":
                text = direction(text, self.decimals)
        except NoUnitError:
            self._no_unit(column, row)
            return ""
        except ValueError as error:
            self.fault(row, column, label, f"{name}: {error}")
            return ""
        if name == "exposure":
            text = text.casefold()
        if fault := fault_of(name, text):
            self.fault(row, column, label, f"{name}: {fault}")
            return ""
        return text

    def face(self, row: Row, side: str, label: str, *, alone: bool) -> FaceAnswers:
        """Return one side of a wall; ``alone``: the row is for this side only."""
        label += {"out": ", outside", "in": ", inside"}.get(side, "")
        outside = side != "in"
        area, height = self._extent(row, side, label)
        face = FaceAnswers(
            side=side,
            area=area,
            height=height or self.given_for("height"),
            system=self._system(row, side, label),
            facing=self._facing(row, side, label) if outside else "",
            scaffold=self._scaffold(row, side) if outside or alone else "",
            exposure=self.value(row, "exposure", side, label) if outside else "",
            origin=f"{self.table.file}:{row.line}",
            start=self.value(row, "start", side, label) if outside or alone else "",
        )
        if outside:
            face = replace(face, gutter=self._gutter(row, side, label))
        if not side:
            self.lacking.add("side")
        return face

    def given_for(self, name: str) -> str:
        """Return what was answered for all that have none of their own, and note that it is asked for."""
        if name not in self.given:
            self.lacking.add(name)
        return self.given.get(name, "")

    def _extent(self, row: Row, side: str, label: str) -> tuple[str, str]:
        """Return area and height, the area from width and height where it has no cell of its own."""
        height = self.value(row, "height", side, label)
        told, width = len(self.problems) + self._without, ""
        area = self.value(row, "area", side, label)
        column, cell = self.cell(row, "dimensions", side)
        if column is not None and cell:
            try:
                width, tall = two_lengths(cell, column.unit, self.decimals)
                height = height or tall
            except NoUnitError:
                self._no_unit(column, row)
                return area, height
            except ValueError as error:
                self.fault(row, column, label, f"size: {error}")
                return area, height
        elif not area and not self.cell(row, "area", side)[1]:
            width = self._length(row, side, label)
        if not area and width and height:
            area = self._product(row, side, label, width, height)
        own = self.cell(row, "area", side)[0]
        if not area and len(self.problems) + self._without == told and (own or column or "width" in self.fields):
            self.fault(row, own or column, label, 'no area; write one, such as "10.8 m2"')
        return area, height

    def _length(self, row: Row, side: str, label: str) -> str:
        column, text = self.cell(row, "width", side)
        if column is None or not text:
            return ""
        try:
            width = measure(text, column.unit, self.decimals)
            parse(width, "length_m", high=1000)
        except NoUnitError:
            self._no_unit(column, row)
            return ""
        except ValueError as error:
            self.fault(row, column, label, f"width: {error}")
            return ""
        if not self.cell(row, "height", side)[1]:
            self.fault(row, column, label, "a width, but neither area nor height; add one of them")
        return width

    def _product(self, row: Row, side: str, label: str, width: str, height: str) -> str:
        try:
            area = product(width, height)
        except ValueError as error:
            self.fault(row, self.cell(row, "width", side)[0], label, f"width x height: {error}")
            return ""
        if fault := field_fault(Face, "area", area):
            self.fault(row, self.cell(row, "width", side)[0], label, f"width x height: {fault}")
            return ""
        self.computed += 1
        return area

    def _facing(self, row: Row, side: str, label: str) -> str:
        column, text = self.cell(row, "facing", side)
        facing = self.value(row, "facing", side, label)
        if side == "out" and column is None:
            self._no_facing()
        elif side == "out" and not text:
            self.fault(row, column, label, "no direction; sun and rain depend on it, write N, SW or 84°")
        return facing

    def _no_facing(self) -> None:
        text = 'no column for the direction of outside faces; add "facing" with N, SW or 84° in it'
        problem = self.table.problem(self.header.row, 0, text)
        if problem not in self.problems[:1]:
            self.problems.insert(0, problem)

    def _system(self, row: Row, side: str, label: str) -> str:
        column, text = self.cell(row, "system", side)
        if not text:
            return self.given_for(f"system-{side}") if side else ""
        named = text.casefold().replace(" ", "-")
        name = named if named in self._systems else text
        fit = [one for one, sides in self._systems.items() if not side or side in sides]
        if fault := unknown_system(name, side, self._systems, fit):
            self.fault(row, column, label, fault)
            return ""
        return name

    def _scaffold(self, row: Row, side: str) -> str:
        column, text = self.cell(row, "scaffold", side)
        answer = yes_or_no(text) if text else False
        if answer is None:
            if fault := fault_of("scaffold", text):
                self.fault(row, column, "scaffold", fault)
            return text
        return "scaffold" if answer else ""

    def _gutter(self, row: Row, side: str, label: str) -> bool:
        column, text = self.cell(row, "gutter", side)
        answer = yes_or_no(text) if text else True
        if answer is None:
            self.fault(row, column, label, f'gutter: "{clip(text)}"; write yes or no')
        return answer is not False
