"""Counts of a long campaign: cases and arrangements run, tried again, refused, and wrong; told past the capture."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import pytest

from pegbook.geometry.errors import GeometryError
from pegbook.geometry.kernel import arrange, offset, simple


@dataclass
class Tally:
    """Counts every arrangement that the kernel makes while its cases run."""

    name: str
    cases: int = 0
    arrangements: int = 0
    again: int = 0
    refused: list[object] = field(default_factory=list)
    wrong: dict[object, list[str]] = field(default_factory=dict)

    def counted(self, patch: pytest.MonkeyPatch) -> None:
        """Count from now on."""
        sound = arrange.arranged_sources

        def counting(*given: object, **more: object) -> arrange.Arrangement:
            self.arrangements += 1
            made = sound(*given, **more)  # type: ignore[arg-type]
            self.again += made.tries > 1
            return made

        for module in (arrange, offset, simple):
            patch.setattr(module, "arranged_sources", counting)

    def run(self, cases: Iterable[object], laws: Callable[..., list[str]]) -> None:
        """Run each case; a refusal is counted, a broken law is wrong."""
        for case in cases:
            self.cases += 1
            try:
                bad = laws(*case) if isinstance(case, tuple) else laws(case)
            except GeometryError:
                self.refused.append(case)
                continue
            if bad:
                self.wrong[case] = bad

    def tell(self, capsys: pytest.CaptureFixture[str]) -> None:
        """Print the counts past pytest's capture, and hold that nothing was wrong and next to nothing refused."""
        with capsys.disabled():
            print(f"\n  {self.name}: {self.cases} cases, {self.arrangements} arrangements, {self.again} tried again, "
                  f"{len(self.refused)} refused, {len(self.wrong)} wrong")
        assert self.wrong == {}
        assert len(self.refused) * 1000 <= self.cases, self.refused
