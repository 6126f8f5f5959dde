"""Measured impedances: read by format, resonances told by their phase, held against the duct without reed."""

import re

import numpy as np
import pytest
from commanded import told

from acoustics.air import air
from acoustics.scan import input_impedances
from optimizer.project.bends import Bend
from optimizer.project.body import bore_between
from optimizer.project.faults import Fault
from optimizer.project.model import AirState
from optimizer.prototype.impedance_file import MeasuredImpedance, read_impedance
from optimizer.prototype.impedance_match import Conditions, matched, resonances_of
from optimizer.prototype.measured_table import TableError
from optimizer.records.files import read_record, write_record
from optimizer.records.impedance import ImpedanceRecord
from optimizer.solving.real_resonances import record_duct

F = np.arange(150.0, 2500.0, 2.0)
HEAD = "frequency_hz,impedance_real_pa_s_per_m3,impedance_imag_pa_s_per_m3"


def lossy_tube(f, length=0.6, c=343.0, loss=0.12):
    """z of a tube with an open end and losses that no frequency changes: tanh(a + j k L), textbook."""
    return np.tanh(loss + 2j * np.pi * f * length / c)


def of_tube(record, note, degrees, noise=0.0):
    """What a rig would measure of a layout: the duct without its reed, in air of one temperature."""
    state = AirState(reed_degC=degrees, bell_degC=degrees, humidity_percent=50.0)
    duct = record_duct(record, state)
    openness = np.repeat(np.array(note.openness)[:, None], F.size, axis=1)
    z = input_impedances(duct, openness, F)[1]
    if noise:
        dice = np.random.default_rng(3)
        z = z * (1.0 + noise * (dice.normal(size=F.size) + 1j * dice.normal(size=F.size)))
    return z


def as_csv(f, z, head=HEAD, remarks=""):
    return (
        remarks
        + head
        + "\n"
        + "".join(f"{a!r},{b.real!r},{b.imag!r}\n" for a, b in zip(f.tolist(), z.tolist(), strict=True))
    )


def test_resonances_of_a_tube_lie_where_the_textbook_has_them():
    # Im tanh(a + j k L) = 0 with |z| > 1 where k L is an odd multiple of pi / 2, whatever the loss a.
    z = lossy_tube(F)
    found = resonances_of(F, (z - 1.0) / (z + 1.0))
    wanted = (2 * np.arange(1, 10) - 1) * 343.0 / (4 * 0.6)
    assert found == pytest.approx(wanted[(wanted > F[0]) & (wanted < F[-1])], rel=2e-5)


def test_noise_moves_them_little():
    dice = np.random.default_rng(1)
    z = lossy_tube(F)
    seen = (z - 1.0) / (z + 1.0) + 0.01 * (dice.normal(size=F.size) + 1j * dice.normal(size=F.size))
    wanted = (2 * np.arange(1, 10) - 1) * 343.0 / (4 * 0.6)
    wanted = wanted[(wanted > F[0]) & (wanted < F[-1])]
    found = resonances_of(F, seen)
    assert found.size == wanted.size
    assert np.max(np.abs(1200.0 * np.log2(found / wanted))) < 2.0


@pytest.mark.parametrize("form", ["ri", "ma", "db"])
@pytest.mark.parametrize("unit", ["hz", "khz"])
def test_files_of_network_analysers_are_read_as_a_reference_library_writes_them(tmp_path, form, unit):
    # scikit-rf writes the file; the reflectance comes back to the digits that it writes.
    import skrf

    z = lossy_tube(F)
    network = skrf.Network(frequency=skrf.Frequency.from_f(F, unit="hz"), s=((z - 1) / (z + 1))[:, None, None], z0=1.0)
    network.frequency.unit = unit
    network.write_touchstone("tube", dir=str(tmp_path), form=form, skrf_comment=False)
    found = read_impedance(tmp_path / "tube.s1p")
    assert found.frequency == pytest.approx(F, rel=1e-9)
    assert not found.absolute
    assert np.abs((found.impedance - 1) / (found.impedance + 1) - (z - 1) / (z + 1)) == pytest.approx(0.0, abs=1e-6)


def test_a_layout_measured_as_it_is_computed_is_no_cents_off(record):
    note = record.notes[0]
    found = matched(
        record, MeasuredImpedance(F, of_tube(record, note, 21.0), True, {}), "rig.csv", Conditions(note, 21.0)
    )
    cents = [pair.cents for pair in found.resonances]
    assert len(cents) >= 3
    assert None not in cents
    assert max(map(abs, cents)) < 0.5
    noisy = MeasuredImpedance(F, of_tube(record, note, 21.0, 0.02), True, {})
    again = matched(record, noisy, "rig.csv", Conditions(note, 21.0))
    assert abs(again.median_cents) < 3.0


def test_a_rig_in_colder_air_is_flat_by_the_speed_of_sound(record):
    note, warm, cold = record.notes[-1], 24.0, 19.0
    colder = MeasuredImpedance(F, of_tube(record, note, cold), True, {})
    found = matched(record, colder, "rig.csv", Conditions(note, warm))
    wanted = 1200.0 * np.log2(air(cold, 0.5).c / air(warm, 0.5).c)
    assert found.median_cents == pytest.approx(wanted, abs=0.4)


def test_without_the_reed_resonances_lie_above_the_notes(record):
    # A reed's volume brings a note down (Nederveen, 1969): what is compared here leaves it out.
    note = record.notes[0]
    found = matched(
        record, MeasuredImpedance(F, of_tube(record, note, 23.0), True, {}), "rig.csv", Conditions(note, 23.0)
    )
    assert found.resonances[0].computed_hz > note.frequency_hz


def test_units_do_not_matter_where_they_are_told(record, tmp_path):
    note = record.notes[0]
    z = of_tube(record, note, 21.0)
    gas, area = air(21.0, 0.5), np.pi * (record.bore.points_mm[0][1] / 2e3) ** 2
    own = gas.rho * gas.c / area
    texts = {
        "absolute.csv": as_csv(F, z),
        "relative.csv": as_csv(F, z / own, "frequency_hz,impedance_real_over_z0,impedance_imag_over_z0"),
        "admittance.csv": as_csv(F, 1.0 / z, "frequency_hz,admittance_real_m3_per_pa_s,admittance_imag_m3_per_pa_s"),
    }
    found = []
    for name, text in texts.items():
        (tmp_path / name).write_text(text)
        found.append(matched(record, read_impedance(tmp_path / name), "rig", Conditions(note, 21.0)))
    assert [each.resonances for each in found[1:]] == [found[0].resonances] * 2
    assert np.abs(np.subtract(found[0].measured_deg, found[0].computed_deg)) == pytest.approx(0.0, abs=0.01)


def test_a_plane_beyond_the_entry_leaves_out_what_lies_before_it(record):
    note = record.notes[0]  # all holes closed
    whole = MeasuredImpedance(F, of_tube(record, note, 21.0), True, {})
    found = matched(record, whole, "rig", Conditions(note, 21.0, 50.0, 0.0))
    cut = matched(record, whole, "rig", Conditions(note, 21.0, 50.0, 40.0))
    assert cut.resonances[0].computed_hz > found.resonances[0].computed_hz * 1.03
    with pytest.raises(Fault, match="plane_mm: must lie on the bore"):
        matched(record, whole, "rig", Conditions(note, 21.0, 50.0, 900.0))
    with pytest.raises(Fault, match="is open before 299 mm"):
        matched(record, whole, "rig", Conditions(record.notes[-1], 21.0, 50.0, 299.0))


def test_a_plane_on_a_folded_body_leaves_its_bends_where_they_are(record):
    # What a rig measures of the same body, begun 40 mm further on: its bend lies 40 mm nearer to the rig.
    def folded(bore, at):
        return bore.model_copy(update={"bends": [Bend(id="low", at_mm=at, radius_mm=10.0, toward_deg=90.0)]})

    end = record.bore.points_mm[-1][0]
    points = [(place - 40.0, wide) for place, wide in bore_between(record.bore.points_mm, 40.0, end)]
    begun = folded(record.bore.model_copy(update={"points_mm": points}), 110.0)
    holes = [hole.model_copy(update={"position_mm": hole.position_mm - 40.0}) for hole in record.holes]
    shorter = record.model_copy(update={"bore": begun, "holes": holes})
    whole = record.model_copy(update={"bore": folded(record.bore, 150.0)})
    measured = MeasuredImpedance(F, of_tube(shorter, record.notes[0], 21.0), True, {})
    found = matched(whole, measured, "rig", Conditions(record.notes[0], 21.0, 50.0, 40.0))
    same = matched(shorter, measured, "rig", Conditions(record.notes[0], 21.0))
    wanted = [each.computed_hz for each in same.resonances]
    assert [each.computed_hz for each in found.resonances] == pytest.approx(wanted, rel=1e-6)
    with pytest.raises(Fault, match="plane_mm: 160 mm lies in bend low"):
        matched(whole, measured, "rig", Conditions(record.notes[0], 21.0, 50.0, 160.0))


def test_what_no_bore_reflects_is_refused(record):
    note, z = record.notes[0], of_tube(record, record.notes[0], 21.0)
    with pytest.raises(Fault, match=r"it was written for e\^\{-j omega t\}"):
        matched(record, MeasuredImpedance(F, z.conj(), True, {}), "rig", Conditions(note, 21.0))
    with pytest.raises(Fault, match="nothing reflects more than 1"):
        matched(record, MeasuredImpedance(F, -z, True, {}), "rig", Conditions(note, 21.0))


GOOD = as_csv(F[:40], lossy_tube(F[:40]))
S1P = "# Hz S RI R 1\n" + "".join(f"{f} 0.5 0.1\n" for f in F[:40])
WRONG = {
    "no unit": ("a.csv", GOOD.replace("impedance_real_pa_s_per_m3", "impedance_real"), "lacks its unit"),
    "kilohertz": ("a.csv", GOOD.replace("frequency_hz", "frequency_khz"), "is in kilohertz; this table takes"),
    "no imaginary part": ("a.csv", GOOD.replace(",impedance_imag_pa_s_per_m3", ",remark"), "no column 'remark'"),
    "mixed": ("a.csv", GOOD.replace("impedance_imag_pa_s_per_m3", "impedance_imag_over_z0"), "must have one pair"),
    "gap": ("a.csv", re.sub(r"(?m)^(160.0),[^,]*,", r"\1,,", GOOD), "real_pa_s_per_m3: is empty"),
    "empty": ("a.csv", "", "is empty; a measured impedance file"),
    "few": ("a.csv", as_csv(F[:5], lossy_tube(F[:5])), "has 5 frequencies; at least 20"),
    "falling": ("a.csv", as_csv(F[:40][::-1], lossy_tube(F[:40])), "frequencies must rise"),
    "coarse": ("a.csv", as_csv(np.geomspace(100, 20000, 40), lossy_tube(F[:40])), "cents apart; a resonance needs 100"),
    "real alone": ("a.csv", as_csv(F[:40], np.abs(lossy_tube(F[:40])) + 0j), "imaginary part is nothing but zeros"),
    "too many": ("a.csv", HEAD + "\n" + "1,2,3\n" * 100_001, "has 100001 rows; a measured impedance file has at"),
    "too large": ("a.csv", "#" * 10_000_001, "has more than 10 MB"),
    "two ports": ("a.s2p", S1P, "is of more ports than one"),
    "no option line": ("a.s1p", S1P.partition("\n")[2], "must have one option line, such as"),
    "odd option": ("a.s1p", S1P.replace("RI", "XY"), "line 1: 'xy' is nothing of an option line"),
    "gigahertz": ("a.s1p", S1P.replace("Hz", "GHz"), "is their unit right?"),
    "version 2": ("a.s1p", f"[Version] 2.0\n{S1P}", "is of version 2 of its format"),
    "two numbers": ("a.s1p", S1P.replace("160.0 0.5 0.1", "160.0 0.5"), "line 7: must be three numbers"),
    "decimal commas": ("a.s1p", S1P.replace("160.0 0.5", "160.0 0,5"), "line 7: must be three numbers"),
    "sound file": ("a.csv", "RIFF\x00\x01WAVE", "there is no column 'RIFF"),
}  # fmt: skip


@pytest.mark.parametrize("what", WRONG)
def test_a_wrong_file_is_told(tmp_path, what):
    name, text, said = WRONG[what]
    (tmp_path / name).write_text(text)
    with pytest.raises(TableError, match=re.escape(said)) as fault:
        read_impedance(tmp_path / name)
    assert fault.value.heading == "measured impedance file to mend"


def test_the_command_compares_and_draws(tmp_path, record, capsys):
    write_record(tmp_path / "layout.json", record)
    note = record.notes[1]
    remarks = f"# temperature_degC = 21.0\n# note = {note.written}\n"
    (tmp_path / "rig.csv").write_text(as_csv(F, of_tube(record, note, 21.0), remarks=remarks))
    asked = ["impedance", tmp_path / "layout.json", tmp_path / "rig.csv"]
    code, out, err = told(capsys, *asked, "--svg", tmp_path / "z.svg", "--json", tmp_path / "z.json")
    assert (code, err) == (0, "")
    assert re.search(r"(?m)^ +1 +\d+\.\d\d +\d+\.\d\d +[+-]?0\.\d", out)
    kept = read_record(tmp_path / "z.json", ImpedanceRecord)
    assert kept.note == note.written
    drawing = (tmp_path / "z.svg").read_text()
    assert drawing.count("<circle") == sum(pair.measured_hz is not None for pair in kept.resonances)
    code, _, err = told(capsys, *asked, "--note", "H9")
    assert code == 2
    assert "the layout has no note 'H9'; it has A4" in err
    (tmp_path / "rig.csv").write_text(as_csv(F, of_tube(record, note, 21.0)))
    assert "say how warm the air was" in told(capsys, *asked)[2]
    assert "say which note was fingered" in told(capsys, *asked, "--temperature-degc", "21")[2]


@pytest.mark.parametrize("name", ["rig.csv", "rig.s1p"])
def test_the_example_for_an_instrument_is_read_back_as_its_own(name, tmp_path, record, capsys):
    # The layout's own impedance held against itself: no resonance may be off, in either format.
    write_record(tmp_path / "layout.json", record)
    note = record.notes[1]
    asked = ["impedance", tmp_path / "layout.json"]
    made = told(capsys, *asked, "--example", tmp_path / name, "--note", note.written, "--temperature-degc", "19")
    assert (made[0], made[2]) == (0, "")
    code, _, err = told(capsys, *asked, tmp_path / name, "--json", tmp_path / "z.json")
    assert (code, err) == (0, "")
    kept = read_record(tmp_path / "z.json", ImpedanceRecord)
    assert (kept.note, kept.temperature_degC) == (note.written, 19.0)
    found = [pair.cents for pair in kept.resonances if pair.cents is not None]
    assert len(found) > 5
    assert found == pytest.approx(np.zeros(len(found)), abs=0.1)
    assert "name a measured impedance, or --example FILE" in told(capsys, *asked)[2]
