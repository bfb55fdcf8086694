"""Write programs and the variants under them."""

from collections.abc import Iterable, Sequence
from typing import Any
from uuid import UUID

from coaching.actions.row_versions import Versions, bump
from coaching.refusals import Fault, Invalid
from programs.models import Program, Variant


def create_program(*, name: str, notes: str = "", variants: Sequence[str] = ()) -> Program:
    """Make a program with its variants.

    Raises:
        Invalid: two variants have one name.
    """
    _check_names(variants, taken=(), pointer="#/variants")
    program = Program.objects.create(name=name, notes=notes)
    Variant.objects.bulk_create([Variant(program=program, name=variant) for variant in variants])
    return program


def change_program(*, program_id: UUID, versions: Versions, add_variants: Sequence[str] = (), **changes: Any) -> None:
    """Change a program's name, notes or archived mark, and add variants to it.

    Raises:
        NotFound: no such program.
        PreconditionFailed: it was changed since.
        Invalid: a variant of that name is there already.
    """
    bump(Program.objects.all(), program_id, versions, **changes)
    if not add_variants:
        return
    # The row is locked by now, so no other change adds a name in between.
    taken = Variant.objects.filter(program_id=program_id).values_list("name", flat=True)
    _check_names(add_variants, taken=taken, pointer="#/add_variants")
    Variant.objects.bulk_create([Variant(program_id=program_id, name=name) for name in add_variants])


def _check_names(names: Sequence[str], *, taken: Iterable[str], pointer: str) -> None:
    seen = {name.casefold() for name in taken}
    faults: list[Fault] = []
    for index, name in enumerate(names):
        if name.casefold() in seen:
            sentence = f"The program has a variant {name!r} already; choose another name."
            faults.append(Fault(f"{pointer}/{index}/name", "variant_name_taken", sentence))
        seen.add(name.casefold())
    if faults:
        raise Invalid(faults[0].detail, faults=faults)
