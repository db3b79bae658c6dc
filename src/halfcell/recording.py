"""The first waist: one measurement, in SI units, knowing the file it came from."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from halfcell.results import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recording:
    """One current record. All columns are read-only float64 of one length (n,).

    ``potential`` in V (as exported, against the study's reference electrode), ``current`` in
    A with oxidation positive once the study's sign convention has been applied (readers leave
    the file's sign), ``time`` in s; a column the file does not hold is None. When the file
    gives a current density and no area is known, ``current`` is in A/m² and ``per_area`` true.
    ``cycle`` is the file's own cycle number per sample, or None. ``extra`` holds further numeric
    columns under their headings, unconverted, and ``forward``/``backward`` the two currents of a
    square-wave or differential-pulse record where the file has them (A).
    ``assumed`` lists in words what the reader took for granted.
    """

    file: str
    sha256: str
    time: FloatArray | None = None
    potential: FloatArray | None = None
    current: FloatArray
    cycle: FloatArray | None = None
    forward: FloatArray | None = None
    backward: FloatArray | None = None
    extra: dict[str, FloatArray]
    per_area: bool = False
    reader: str = ""
    columns: tuple[tuple[str, str, str], ...] = ()
    """(role, heading in the file, unit in the file) of each column used."""
    first_row: int = 0
    """Line number in the file (from 1) of the first sample."""
    assumed: tuple[str, ...] = ()
    header: str = ""
    """The text above the table, at most 20,000 characters."""

    def oriented(self, *, negative: bool, area: float | None) -> Recording:
        """The same with oxidation positive and, where the area (m²) is known, in amperes.

        ``negative`` says that the file gives oxidation currents a negative sign.
        """
        factor, said = (-1.0 if negative else 1.0), []
        if negative:
            said.append(
                "the sign of the current was turned, because the study says that its exports give oxidation a negative sign"
            )
        if self.per_area and area is not None:
            factor *= area
            said.append(f"the current density was multiplied by the electrode's area, {area * 1e4:.4g} cm²")
        if factor == 1.0 and not said:
            return self

        def turned(column: FloatArray | None) -> FloatArray | None:
            if column is None:
                return None
            column = column * factor
            column.setflags(write=False)
            return column

        current = turned(self.current)
        assert current is not None
        return replace(
            self,
            current=current,
            forward=turned(self.forward),
            backward=turned(self.backward),
            per_area=self.per_area and area is None,
            assumed=(*self.assumed, *said),
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Micrograph:
    """One image. ``pixels`` (rows, columns) read-only float32, 0 black … 1 full scale.

    ``metres_per_pixel`` is nan when neither the study nor the file gives a scale.
    ``bar_rows`` is the number of rows at the bottom that look like a data bar (0: none);
    they are still in ``pixels``.
    """

    file: str
    sha256: str
    pixels: NDArray[np.float32]
    metres_per_pixel: float
    scale_from: str = ""
    bits: int = 8
    bar_rows: int = 0
    assumed: tuple[str, ...] = ()
