"""A worktable folder as one checked value, with every problem of every file found before anything is said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType

from optimiser.domain.brief import Brief
from optimiser.domain.costs import Costs
from optimiser.domain.formula import Formula
from optimiser.domain.ingredient import FlagState, Part, Way
from optimiser.domain.response import Fitted
from optimiser.domain.vocabulary import Vocabulary
from optimiser.domain.worktable import Settings, Worktable
from optimiser.loading import clashes, composition, flags, ingredients, learned, process, properties, shelf
from optimiser.loading.briefs import Known, circles, read_brief
from optimiser.loading.costs import read_costs
from optimiser.loading.findings import Findings
from optimiser.loading.folder import Folder, Source, open_folder
from optimiser.loading.formula_tables import COLUMNS as FORMULA_COLUMNS
from optimiser.loading.formula_tables import read_formula_table
from optimiser.loading.formulas import read_formula
from optimiser.loading.joining import Tables, join, own_figures
from optimiser.loading.names import Names, Reader, by_plain_form, words_of
from optimiser.loading.owners import Owned
from optimiser.loading.places import SETTINGS
from optimiser.loading.reference import load_limits, load_vocabulary
from optimiser.loading.responses import read_response
from optimiser.loading.settings import default_settings, read_settings
from optimiser.loading.substances import COLUMNS as SUBSTANCES
from optimiser.loading.substances import Spelling, check_spelling, known_substances, read_substances
from optimiser.loading.tables import Columns, Table, read_csv
from optimiser.loading.workbooks import read_xlsx
from optimiser.loading.yaml_nodes import read_yaml
from optimiser.problems import Problem, in_order
from optimiser.units.numbers import WITH_MARK, DecimalMark

SEVERAL = 2


@dataclass(slots=True)
class _Load:
    """One run over a folder."""

    folder: Folder
    vocabulary: Vocabulary
    decimal: DecimalMark = "point"
    problems: list[Problem] = field(default_factory=list)

    def findings(self, source: Source) -> Findings:
        """Findings of one file, their problems kept with all others."""
        return Findings(source.name, self.problems)

    def table(self, name: str, columns: Columns) -> tuple[Table, Findings]:
        source = self.folder.tables.get(name)
        if source is None:
            return Table(f"{name}.csv"), Findings(f"{name}.csv", self.problems)
        findings = self.findings(source)
        return self.read(source, columns, findings), findings

    def read(self, source: Source, columns: Columns, findings: Findings) -> Table:
        if source.path.suffix.casefold() == ".xlsx":
            return read_xlsx(source.path, columns, findings, self.decimal)
        return read_csv(source.path, columns, findings)


def load_worktable(folder: Path) -> tuple[Worktable | None, tuple[Problem, ...]]:
    """The worktable in `folder`, or None with every problem found, in the order of files and lines."""
    opened = open_folder(folder)
    load = _Load(opened, load_vocabulary(), problems=list(opened.problems))
    if not opened.readable:
        return None, in_order(load.problems)
    worktable = _load(load, folder)
    return (None if load.problems else worktable), in_order(_with_the_setting(load.problems, load.decimal))


def _with_the_setting(problems: list[Problem], decimal: DecimalMark) -> list[Problem]:
    """Where several numbers have the other decimal mark, each says that it can be set for all of them."""
    fault = WITH_MARK[decimal]
    if sum(one.expected == fault for one in set(problems)) < SEVERAL:
        return problems
    other = "comma" if decimal == "point" else "point"
    also = f"; where all are written so, write decimal: {other} in {SETTINGS}"
    return [replace(one, fix=one.fix + also) if one.expected == fault else one for one in problems]


def _load(load: _Load, folder: Path) -> Worktable:
    settings = _settings(load)
    load.decimal = settings.decimal
    table, findings = load.table("ingredients", ingredients.COLUMNS)
    listed = ingredients.read_ingredients(table, load.vocabulary, findings, load.decimal)
    names = _names(load, settings, ingredients.names_in(table))
    rows, found = load.table("substances", SUBSTANCES)
    own_substances = read_substances(rows, load.decimal, found)
    known = known_substances(own_substances)
    spelling = Spelling.of(known)
    check_spelling(table, "inci", ingredients.BLEND, spelling, findings)
    made_of = _read_composition(load, names, spelling)
    names = replace(names, substances=by_plain_form(known | _used_substances(listed, made_of)))
    rows, found = load.table("properties", properties.COLUMNS)
    figures = properties.read_properties(rows, Reader(names, found), load.vocabulary.properties)
    own = own_figures(listed, figures, load.vocabulary)
    names = replace(
        names, densities={one: held["density"].value for one, held in own.items() if "density" in held}
    )
    tables = Tables(_read_flags(load, names), figures, made_of, _read_process(load, names))
    joined = join(listed, tables, load.vocabulary, Reader(names, findings))
    responses = _responses(load, names)
    names = replace(
        names,
        responses={one: fitted.unit for one, fitted in responses.items()},
        settings={one: fitted.settings for one, fitted in responses.items()},
    )
    rows, found = load.table("clashes", clashes.COLUMNS)
    clash_rows = clashes.read_clashes(rows, Reader(names, found))
    clash_ids = frozenset(row["id"] for row in rows.rows)
    rows, found = load.table("shelf", shelf.COLUMNS)
    lots = shelf.read_shelf(rows, Reader(names, found))
    rows, found = load.table("learned", learned.COLUMNS)
    told = learned.read_learned(rows, Reader(names, found), load.vocabulary.properties)
    joined, told = learned.apply_learned(joined, told, lots, settings.rules_date)
    return Worktable(
        folder=str(folder),
        settings=settings,
        ingredients=joined,
        clashes=clash_rows,
        shelf=lots,
        formulas=_formulas(load, names, settings),
        briefs=_briefs(load, names, clash_ids),
        digest=load.folder.digest(),
        costs=_costs(load, names),
        substances=own_substances,
        learned=told,
        responses=responses,
    )


def _costs(load: _Load, names: Names) -> Costs:
    source = load.folder.costs
    if source is None:
        return Costs()
    findings = load.findings(source)
    node = read_yaml(source.path, findings)
    return Costs() if node is None else read_costs(node, Reader(names, findings))


def _settings(load: _Load) -> Settings:
    source = load.folder.settings
    if source is None:
        return default_settings()
    findings = load.findings(source)
    node = read_yaml(source.path, findings)
    jurisdictions = tuple(sorted({limit.jurisdiction for limit in load_limits()}))
    return default_settings() if node is None else read_settings(node, jurisdictions, findings)


def _names(load: _Load, settings: Settings, named: tuple[ingredients.Named, ...]) -> Names:
    vocabulary = load.vocabulary
    return Names(
        groups_of=MappingProxyType({name: kind.group for name, kind in vocabulary.kinds.items()}),
        roles=frozenset(vocabulary.roles),
        flags=frozenset(vocabulary.flags),
        levels=_summed(vocabulary, "level"),
        means=_summed(vocabulary, "yes"),
        ingredients=frozenset(identifier for identifier, _, _ in named),
        words=words_of(named),
        decimal=settings.decimal,
        currency=settings.currency,
        any_ingredient=not named,
    )


def _summed(vocabulary: Vocabulary, how: str) -> Mapping[str, str]:
    """Units of the properties that are summed in the way `how`."""
    return MappingProxyType(
        {name: meant.unit for name, meant in vocabulary.properties.items() if meant.sum == how}
    )


def _read_composition(load: _Load, names: Names, spelling: Spelling) -> Mapping[str, tuple[Part, ...]]:
    rows, findings = load.table("composition", composition.COLUMNS)
    check_spelling(rows, "substance", ingredients.BLEND, spelling, findings)
    return composition.read_composition(rows, Reader(names, findings))


def _read_flags(load: _Load, names: Names) -> Owned[FlagState]:
    rows, findings = load.table("flags", flags.COLUMNS)
    return flags.read_flags(rows, Reader(names, findings))


def _read_process(load: _Load, names: Names) -> Owned[Way]:
    rows, findings = load.table("process", process.COLUMNS)
    return process.read_process(rows, Reader(names, findings), load.vocabulary.stages)


def _used_substances(
    listed: tuple[ingredients.Listed, ...], made_of: Mapping[str, tuple[Part, ...]]
) -> frozenset[str]:
    """Substances that the ingredients are said to hold."""
    names = {part.substance for parts in made_of.values() for part in parts}
    names |= {name.strip() for one in listed for name in one.ingredient.inci.split(ingredients.BLEND)}
    return frozenset(names)


def _formulas(load: _Load, names: Names, settings: Settings) -> Mapping[str, Formula]:
    found: dict[str, Formula] = {}
    for identifier, source in load.folder.formulas.items():
        findings = load.findings(source)
        reader = Reader(names, findings)
        if source.path.suffix.casefold() in (".csv", ".xlsx"):
            before = len(load.problems)
            table = load.read(source, FORMULA_COLUMNS, findings)
            readable = len(load.problems) == before
            formula = read_formula_table(identifier, table, reader, settings.batch_g) if readable else None
        else:
            node = read_yaml(source.path, findings)
            formula = None if node is None else read_formula(identifier, node, reader, settings.batch_g)
        if formula is not None:
            found[identifier] = formula
    return MappingProxyType(found)


def _responses(load: _Load, names: Names) -> Mapping[str, Fitted]:
    found: dict[str, Fitted] = {}
    for identifier, source in load.folder.responses.items():
        findings = load.findings(source)
        node = read_yaml(source.path, findings)
        fitted = None if node is None else read_response(identifier, node, Reader(names, findings))
        if fitted is not None:
            found[identifier] = fitted
    return MappingProxyType(found)


def _briefs(load: _Load, names: Names, clash_ids: frozenset[str]) -> Mapping[str, Brief]:
    found: dict[str, Brief] = {}
    known = Known(frozenset(load.folder.briefs), clash_ids)
    for identifier, source in load.folder.briefs.items():
        findings = load.findings(source)
        node = read_yaml(source.path, findings)
        brief = None if node is None else read_brief(identifier, node, Reader(names, findings), known)
        if brief is not None:
            found[identifier] = brief
    load.problems.extend(circles(found))
    return MappingProxyType(found)
