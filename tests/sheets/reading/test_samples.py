"""Things from files of readings: by name, as spectra, and never a mean of what is not one thing."""

import numpy as np
import pytest

import colour
from inkaccord.colour.delta_e import delta_e_2000
from inkaccord.errors import FileError, OrderError
from inkaccord.sheets.reading.samples import read_thing

TWO = "SAMPLE_NAME;LAB_L;LAB_A;LAB_B\nleaf;41;-20;8\nbark;30;5;9\nleaf;43;-20;8\n"


def test_a_thing_is_the_mean_of_its_readings(tmp_path):
    path = tmp_path / "things.csv"
    path.write_text(TWO, "utf-8")
    assert read_thing(f"{path}/Leaf").lab == (42.0, -20.0, 8.0)


@pytest.mark.parametrize("wanted", ["", "/moss"])
def test_of_several_things_one_is_named(tmp_path, wanted):
    path = tmp_path / "things.csv"
    path.write_text(TWO, "utf-8")
    with pytest.raises(OrderError, match="leaf, bark") as refusal:
        read_thing(f"{path}{wanted}")
    assert f"{path}/leaf" in str(refusal.value.findings[0].hint)


def test_rows_without_a_name_are_not_one_thing(tmp_path):
    path = tmp_path / "things.csv"
    path.write_text("L*,a*,b*\n41,-20,8\n30,5,9\n", "utf-8")
    with pytest.raises(OrderError, match="holds 2 things; it has 1, 2"):
        read_thing(str(path))
    assert read_thing(f"{path}/2").lab == (30.0, 5.0, 9.0)


def test_a_spectrum_is_seen_under_d50_by_the_2_degree_observer(tmp_path):
    """Beside colour-science's integration of the same spectrum over the CIE's 1 nm tables."""
    nm = np.arange(380, 740, 10)
    factors = 0.05 + 0.4 * np.exp(-(((nm - 530) / 45) ** 2))
    path = tmp_path / "leaf.txt"
    columns = " ".join(f"SPECTRAL_NM{one}" for one in nm)
    row = " ".join(f"{value:.6f}" for value in factors)
    path.write_text(
        "CGATS.17\nNUMBER_OF_FIELDS 37\nBEGIN_DATA_FORMAT\n"
        f"SAMPLE_ID {columns}\nEND_DATA_FORMAT\nNUMBER_OF_SETS 1\nBEGIN_DATA\n1 {row}\nEND_DATA\n",
        "utf-8",
    )
    found = read_thing(str(path))
    spectrum = colour.SpectralDistribution(dict(zip(nm, np.round(factors, 6), strict=True)))
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    fine = colour.SpectralShape(360, 780, 1)
    d50 = colour.SDS_ILLUMINANTS["D50"].copy().align(fine)
    xyz = colour.colorimetry.sd_to_XYZ_integration(
        spectrum.copy().align(fine), observer.copy().align(fine), d50
    )
    white = colour.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D50"]
    assert delta_e_2000(found.lab, colour.XYZ_to_Lab(xyz / 100, white)) < 0.1
    assert found.spectrum == pytest.approx(factors, abs=1e-6)
    assert found.wavelengths_nm == tuple(map(float, nm))


def test_a_file_that_is_not_there_is_named(tmp_path):
    with pytest.raises(FileError, match="cannot read"):
        read_thing(str(tmp_path / "none.txt"))
