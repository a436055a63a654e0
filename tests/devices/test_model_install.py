"""Installing a model: whole and checked, or not at all. Small archives stand for the large one.

They go through the same code as the real one, with a manifest of their own; the real
model is checked in test_model_real.py.
"""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import threading
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from walkaround.devices.model import (
    Manifest,
    Source,
    decoding_folder,
    ensure_model,
    folder_hash,
    present_model,
)
from walkaround.devices.model.sources import Fetch
from walkaround.errors import DiskError, DownloadError, ModelError

FILES = {
    "conf/model.conf": b"--beam=10.0\n--endpoint.rule2.min-trailing-silence=0.5\n",
    "conf/mfcc.conf": b"--use-energy=false\n",
    "am/final.mdl": bytes(range(256)) * 40,
    "README": b"a small model\n",
}
# The same by sha256sum and sort, not by our own code:
#   find . -type f ! -name uuid | sed 's,^\./,,' | xargs sha256sum | LC_ALL=C sort | sha256sum
HASH = "a1743a48a28441b2613468dca1133124a52296cc254e032e837c2edd242ce485"


def _archive(
    path: Path, files: dict[str, bytes], root: str = "assets/model-en-us/", links: bool = False
) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("AndroidManifest.xml", b"<manifest/>")
        for name, content in files.items():
            entry = zipfile.ZipInfo(root + name)
            if links:
                entry.external_attr = (stat.S_IFLNK | 0o777) << 16
            packed.writestr(entry, content)
    return path


@pytest.fixture
def good(tmp_path: Path) -> Path:
    return _archive(tmp_path / "good.aar", {**FILES, "uuid": b"drawn anew"})


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path / "models"


def _manifest(*sources: Source) -> Manifest:
    size = sum(map(len, FILES.values()))
    return Manifest("tiny", "Apache-2.0", HASH, size, ("uuid",), sources)


def _get(
    home: Path,
    given: Path | None = None,
    sources: tuple[Source, ...] = (),
    fetchers: dict[str, Fetch] | None = None,
    tell: Callable[[str], None] | None = None,
) -> Path:
    return ensure_model(
        home, tell, given, manifest=_manifest(*sources), environ={}, fetchers=fetchers or {}
    )


def _nothing_left(home: Path) -> None:
    assert [at.name for at in home.iterdir() if at.name != ".installing.lock"] == []


def test_an_archive_by_hand_is_unpacked_and_checked(good: Path, home: Path) -> None:
    folder = _get(home, good)
    assert folder == home / "tiny"
    assert folder_hash(folder) == HASH
    assert sorted(at.name for at in folder.iterdir()) == ["README", "am", "conf"]


def test_a_folder_by_hand_is_copied_and_checked(good: Path, home: Path, tmp_path: Path) -> None:
    given = _get(tmp_path / "elsewhere", good)
    (given / "uuid").write_bytes(b"another stamp")
    assert folder_hash(_get(home, given)) == HASH
    assert (given / "am").is_dir()


def test_run_again_nothing_is_done_twice(good: Path, home: Path) -> None:
    _get(home, good)
    told: list[str] = []
    _get(home, good, tell=told.append)
    assert told == []


def test_another_model_is_refused_and_nothing_left(tmp_path: Path, home: Path) -> None:
    other = _archive(tmp_path / "other.zip", {**FILES, "README": b"another\n"})
    with pytest.raises(ModelError, match=r"other files than tiny.*typed"):
        _get(home, other)
    _nothing_left(home)


def test_a_file_too_many_is_another_model(tmp_path: Path, home: Path) -> None:
    given = tmp_path / "given"
    for name, content in {**FILES, "extra": b"x"}.items():
        (given / name).parent.mkdir(parents=True, exist_ok=True)
        (given / name).write_bytes(content)
    with pytest.raises(ModelError, match="other files"):
        _get(home, given)
    _nothing_left(home)


@pytest.mark.parametrize("kept", [0, 1, 100, 600, -1, -30])
def test_a_cut_off_archive_is_refused_and_nothing_left(good: Path, home: Path, kept: int) -> None:
    good.write_bytes(good.read_bytes()[:kept])
    with pytest.raises(ModelError, match="cut off or damaged"):
        _get(home, good)
    _nothing_left(home)


def test_a_flipped_bit_inside_is_refused(good: Path, home: Path) -> None:
    content = bytearray(good.read_bytes())
    content[content.index(b"conf/mfcc.conf") + len(b"conf/mfcc.conf") + 4] ^= 1
    good.write_bytes(content)
    with pytest.raises(ModelError):
        _get(home, good)
    _nothing_left(home)


@pytest.mark.parametrize(
    "name", ["../../evil", "/../evil", "a/../../../evil", "..\\evil", "C:evil"]
)
def test_no_name_writes_outside(tmp_path: Path, home: Path, name: str) -> None:
    hostile = _archive(tmp_path / "hostile.zip", {**FILES, name: b"x"})
    with pytest.raises(ModelError, match="outside its folder"):
        _get(home, hostile)
    _nothing_left(home)
    assert not list(tmp_path.rglob("evil"))


def test_links_in_an_archive_are_refused(tmp_path: Path, home: Path) -> None:
    with pytest.raises(ModelError, match="outside its folder"):
        _get(home, _archive(tmp_path / "links.zip", FILES, links=True))


def test_an_archive_that_swells_is_stopped(tmp_path: Path, home: Path) -> None:
    swollen = _archive(tmp_path / "swollen.zip", {**FILES, "big": bytes(5_000_000)})
    with pytest.raises(ModelError, match="more than the model"):
        _get(home, swollen)
    _nothing_left(home)


@pytest.mark.parametrize("roots", [(), ("a/", "b/")])
def test_an_archive_holds_one_model(tmp_path: Path, home: Path, roots: tuple[str, ...]) -> None:
    path = tmp_path / "any.zip"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("note", b"")
        for root in roots:
            packed.writestr(root + "conf/model.conf", b"")
    with pytest.raises(ModelError, match=f"holds {len(roots)} models"):
        _get(home, path)


def test_a_name_that_is_not_there(home: Path, tmp_path: Path) -> None:
    with pytest.raises(ModelError, match="no folder or archive at"):
        _get(home, tmp_path / "absent.zip")
    _nothing_left(home)


def test_a_damaged_model_is_replaced(good: Path, home: Path) -> None:
    folder = _get(home, good)
    (folder / "am" / "final.mdl").write_bytes(b"half")
    assert present_model(_manifest(), home, {}) is None
    assert folder_hash(_get(home, good)) == HASH


def test_what_a_killed_install_left_is_cleared(good: Path, home: Path) -> None:
    (home / ".part-old" / "model").mkdir(parents=True)
    _get(home, good)
    assert not (home / ".part-old").exists()


A, B = Source("a", ""), Source("b", "0" * 64)


def _silent(manifest: Manifest, source: Source, into: Path) -> Path:
    raise ConnectionError(f"{manifest.name} {source} {into}")


def test_the_next_source_is_tried(good: Path, home: Path) -> None:
    told: list[str] = []
    fetchers: dict[str, Fetch] = {"a": _silent, "b": lambda *_: good}
    good_b = Source("b", "")
    assert folder_hash(_get(home, None, (A, good_b), fetchers, told.append)) == HASH
    assert len(told) == 2


def test_no_network_is_a_download_error_that_says_how_to_go_on(home: Path) -> None:
    with pytest.raises(DownloadError, match=r"did not answer.*give a folder or archive.*--typed"):
        _get(home, None, (A,), {"a": _silent})
    _nothing_left(home)


def test_a_wrong_archive_hash_is_a_model_error(good: Path, home: Path) -> None:
    with pytest.raises(ModelError, match="another archive than the pinned one") as caught:
        _get(home, None, (A, B), {"a": _silent, "b": lambda *_: good})
    assert not isinstance(caught.value, DownloadError)
    _nothing_left(home)


def test_two_at_a_time_do_not_collide(good: Path, home: Path) -> None:
    calls: list[int] = []

    def slow(*_: object) -> Path:
        calls.append(1)
        threading.Event().wait(0.3)
        return good

    found: list[Path] = []
    source = (Source("a", ""),)
    both = [
        threading.Thread(target=lambda: found.append(_get(home, None, source, {"a": slow})))
        for _ in range(2)
    ]
    for one in both:
        one.start()
    for one in both:
        one.join(30)
    assert found == [home / "tiny"] * 2
    assert len(calls) == 1


def test_a_folder_named_by_the_environment_is_checked_too(good: Path, home: Path) -> None:
    folder = _get(home, good)
    named = {"WALKAROUND_MODEL": str(folder)}
    assert present_model(_manifest(), home / "absent", named) == folder
    (folder / "README").write_bytes(b"changed")
    with pytest.raises(ModelError, match="WALKAROUND_MODEL"):
        present_model(_manifest(), home / "absent", named)


_LITTLE_ROOM = """
import resource, signal, sys
from pathlib import Path
from tests.devices.test_model_install import _get
from walkaround.errors import DiskError
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (4000, 4000))
try:
    _get(Path(sys.argv[1]), Path(sys.argv[2]))
except DiskError as bad:
    print(bad)
"""


@pytest.mark.skipif(os.name != "posix", reason="needs a limit on file size")
def test_a_disk_without_room_is_a_disk_error_and_nothing_left(good: Path, home: Path) -> None:
    child = subprocess.run(
        [sys.executable, "-c", _LITTLE_ROOM, str(home), str(good)],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
    )
    assert "grew past what the disk allows" in child.stdout
    _nothing_left(home)


def test_a_home_that_is_a_file_is_a_disk_error(good: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(DiskError):
        _get(tmp_path / "file", good)


_NO_NETWORK = """
import sys
from pathlib import Path
from walkaround.devices.model import ensure_model
from walkaround.errors import DownloadError
try:
    ensure_model(Path(sys.argv[1]), environ={})
except DownloadError as bad:
    print(bad)
"""


def test_with_no_network_both_real_sources_fail_plainly(home: Path) -> None:
    nowhere = "http://127.0.0.1:9"  # the discard port: nothing listens
    child = subprocess.run(
        [sys.executable, "-c", _NO_NETWORK, str(home)],
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
        env={
            **os.environ,
            "PYTHONPATH": str(Path(__file__).parents[2]),
            **dict.fromkeys(("http_proxy", "https_proxy", "HTTP_PROXY", "HTTPS_PROXY"), nowhere),
            **dict.fromkeys(("no_proxy", "NO_PROXY"), ""),
        },
    )
    assert "Maven com.alphacephei:vosk-model-en:0.3.45 did not answer" in child.stdout
    assert "the vosk catalogue did not answer" in child.stdout
    _nothing_left(home)


def test_the_decoding_folder_leaves_the_model_alone(good: Path, home: Path, tmp_path: Path) -> None:
    model = _get(home, good)
    folder = decoding_folder(model, tmp_path / "cache")
    conf = (folder / "conf" / "model.conf").read_text(encoding="ascii")
    assert "--beam=10.0" in conf
    assert "--lattice-beam=6.0" in conf
    assert "rule2.min-trailing-silence=1000.0" in conf
    assert "=0.5" not in conf
    assert (folder / "am" / "final.mdl").read_bytes() == FILES["am/final.mdl"]
    assert folder_hash(model) == HASH
    assert decoding_folder(model, tmp_path / "cache") == folder
    assert decoding_folder(folder, tmp_path / "cache") == folder
    (folder / "conf" / "model.conf").write_text("broken", encoding="ascii")
    assert decoding_folder(model, tmp_path / "cache") == folder
    assert "rule2" in (folder / "conf" / "model.conf").read_text(encoding="ascii")
    assert [at.name for at in (tmp_path / "cache").iterdir()] == [folder.name]
