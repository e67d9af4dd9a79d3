"""The short share of the proofs on the C core; all of them: python -m benchmarks.c_proofs."""

from __future__ import annotations

import pytest

from tests.firmware.proofs.cbmc import found
from tests.firmware.proofs.claims import CLAIMS
from tests.firmware.proofs.proving import HERE, lay_out, make, prove

CBMC = found()
SHORT = [claim for claim in CLAIMS if claim.short]
needs_cbmc = pytest.mark.skipif(
    CBMC is None, reason="CBMC isn't here; python -m tests.firmware.proofs.cbmc fetches it"
)


@needs_cbmc
@pytest.mark.parametrize("claim", SHORT, ids=[claim.name for claim in SHORT])
def test_claim_holds_for_all_inputs(claim):
    proved = prove(CBMC, claim)
    assert proved.verdict == "holds", proved.said[-3000:]


@needs_cbmc
def test_a_proof_fails_on_a_core_with_a_mistake():
    claim = next(each for each in CLAIMS if each.name == "debounce")
    assert prove(CBMC, claim, mistaken=True).verdict == "fails"


@pytest.mark.parametrize("claim", CLAIMS, ids=[claim.name for claim in CLAIMS])
def test_claim_has_a_harness_and_a_mistake_that_can_be_made(claim, tmp_path):
    assert (HERE / f"{claim.name}.c").exists()
    lay_out(tmp_path)
    before = (tmp_path / "core" / claim.mistake.file).read_text("utf-8")
    make(claim.mistake, tmp_path)
    assert (tmp_path / "core" / claim.mistake.file).read_text("utf-8") != before


def test_every_harness_is_a_claim():
    assert {file.stem for file in HERE.glob("*.c")} == {claim.name for claim in CLAIMS}
