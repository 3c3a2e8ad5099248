"""Every suspect has a sentence."""

import pytest

from records.light.faults import FAULTS_OF, Kind
from records.light.first_checks import first_check


@pytest.mark.parametrize("kind", Kind)
@pytest.mark.parametrize("element_kind", FAULTS_OF)
def test_each_kind_of_suspect_has_a_first_check_that_names_it(kind, element_kind):
    assert "S1" in first_check(kind, element_kind).format(name="S1")
