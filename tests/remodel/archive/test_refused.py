"""What is no whole archive of ours, or comes where something is already: one sentence, and nothing
half done."""

import json
import zipfile

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from remodel.archive import reading, restoring
from remodel.archive.errors import CannotRestore
from remodel.archive.reading import Archive
from remodel.archive.restoring import WORKPLACE, restore
from remodel.house.models import House
from remodel.people.models import Person
from tests.remodel.archive.conftest import is_untouched, raw_files
from tests.remodel.archive.zips import changed, damaged, members_of
from tests.remodel.factories import HouseFactory

NOT_WHOLE = "is not whole: it was cut short or damaged"


def refusal(path):
    with pytest.raises(CannotRestore) as told:
        restore(path)
    return str(told.value)


@pytest.mark.parametrize("part", [0, 0.01, 0.5, 0.9, 0.999])
def test_archive_cut_short(archived, empty, tmp_path, part):
    content = archived.path.read_bytes()
    short = tmp_path / "short.zip"
    short.write_bytes(content[: int(part * len(content))])
    assert NOT_WHOLE in refusal(short)
    assert is_untouched(empty)


def test_archive_without_its_last_byte(archived, empty, tmp_path):
    short = tmp_path / "short.zip"
    short.write_bytes(archived.path.read_bytes()[:-1])
    assert NOT_WHOLE in refusal(short)
    assert is_untouched(empty)


@pytest.mark.parametrize("ending", [".jsonl", ".jpg", ".pdf", "manifest.json"])
def test_flipped_byte_inside_a_member(archived, empty, tmp_path, ending):
    with zipfile.ZipFile(archived.path) as archive:
        member = max(
            (info for info in archive.infolist() if info.filename.endswith(ending)),
            key=lambda info: info.compress_size,
        )
    # a header of 30 bytes ends with the lengths of the name and of what is added to it
    content = archived.path.read_bytes()
    lengths = content[member.header_offset + 26 : member.header_offset + 30]
    start = member.header_offset + 30 + lengths[0] + lengths[2]
    position = start + member.compress_size // 2
    assert NOT_WHOLE in refusal(damaged(archived.path, tmp_path / "flipped.zip", position))
    assert is_untouched(empty)


def test_flipped_byte_anywhere_is_noticed_or_changes_nothing(archived, empty, tmp_path):
    """Some bytes of a zip say nothing: the time of a member, the version that made it."""
    with Archive(archived.path) as whole:
        members = whole.members
    size = archived.path.stat().st_size
    noticed = 0
    for number in range(100):
        path = damaged(archived.path, tmp_path / "flipped.zip", number * size // 100)
        try:
            with Archive(path) as archive:
                archive.check()
                assert archive.members == members
        except CannotRestore:
            noticed += 1
    assert noticed > 85


def test_file_that_is_no_zip(empty, tmp_path):
    path = tmp_path / "letter.txt"
    path.write_text("Dear neighbor")
    assert NOT_WHOLE in refusal(path)


def test_zip_of_something_else(empty, tmp_path):
    path = tmp_path / "other.zip"
    with zipfile.ZipFile(path, "w") as other:
        other.writestr("letter.txt", "Dear neighbor")
    assert "is no archive of Halfbay" in refusal(path)
    assert is_untouched(empty)


def test_file_that_is_not_there(empty, tmp_path):
    assert "Cannot read" in refusal(tmp_path / "none.zip")


def test_archive_of_a_later_format(archived, empty, tmp_path):
    def later(members, manifest):
        manifest["format"] = 2

    path = changed(archived.path, tmp_path / "later.zip", later)
    assert "made by a later version of Halfbay" in refusal(path)
    assert is_untouched(empty)


@pytest.mark.parametrize("place", [("house", "9999_moon_base"), ("moon", "0001_initial")])
def test_archive_of_a_later_schema(archived, empty, tmp_path, place):
    def later(members, manifest):
        manifest["schema"][place[0]] = place[1]

    path = changed(archived.path, tmp_path / "later.zip", later)
    assert "made by a later version of Halfbay" in refusal(path)
    assert is_untouched(empty)


@pytest.mark.parametrize(
    "name",
    [
        "../evil.jpg",
        "files/media/../../evil.jpg",
        "files/media/photos/../evil.jpg",
        "/tmp/evil.jpg",
        "files//evil.jpg",
        "files/media/photos\\..\\evil.jpg",
        "files/media/.hidden",
        "files/other/evil.jpg",
        "files/media",
        "C:/evil.jpg",
        "secret-key",
        "tables/people.attempt.jsonl",
        "tables/moon.base.jsonl",
    ],
)
def test_member_that_belongs_in_no_archive(archived, empty, tmp_path, name):
    def smuggle(members, manifest):
        members[name] = b""

    path = changed(archived.path, tmp_path / "evil.zip", smuggle)
    assert "belongs in no archive" in refusal(path)
    assert is_untouched(empty)
    assert not list(tmp_path.rglob("evil.jpg"))


def test_member_that_the_manifest_does_not_name(archived, empty, tmp_path):
    path = tmp_path / "more.zip"
    path.write_bytes(archived.path.read_bytes())
    with zipfile.ZipFile(path, "a") as archive:
        archive.writestr("files/media/photos/more.jpg", b"more")
    assert NOT_WHOLE in refusal(path)
    assert is_untouched(empty)


def lose_a_photo(members, manifest):
    del members[next(name for name in members if name.endswith(".jpg"))]


@pytest.mark.django_db(transaction=True)
def test_photo_that_rows_speak_of_and_that_is_not_there(archived, empty, tmp_path):
    path = changed(archived.path, tmp_path / "less.zip", lose_a_photo)
    assert "speaks of the photo" in refusal(path)
    assert is_untouched(empty)


def test_photo_that_was_missing_when_the_archive_was_made_stops_nothing(archived, empty, tmp_path):
    def told(members, manifest):
        manifest["missing"] = [name for name in members if name.endswith(".jpg")]
        lose_a_photo(members, manifest)

    restore(changed(archived.path, tmp_path / "less.zip", told))
    assert not [name for name in raw_files(empty) if name.endswith(".jpg")]


def test_photo_that_is_another_than_the_manifest_says(archived, empty, tmp_path):
    def swap(members, manifest):
        name = next(name for name in members if name.endswith(".jpg"))
        members[name] = members[name][:-1] + b"x"

    path = changed(archived.path, tmp_path / "swapped.zip", swap, honest=False)
    assert NOT_WHOLE in refusal(path)
    assert is_untouched(empty)


def test_two_restores_at_once(archived, empty, monkeypatch):
    told = []
    room_needed = Archive.room_needed
    monkeypatch.setattr(
        Archive,
        "room_needed",
        lambda archive: told.append(refusal(archived.path)) or room_needed(archive),
    )
    restore(archived.path)
    assert told == [
        "An archive is being restored here already. Wait until it is done, then look again."
    ]
    assert raw_files(empty) == archived.files


def test_member_twice(archived, empty, tmp_path):
    path = tmp_path / "twice.zip"
    path.write_bytes(archived.path.read_bytes())
    with (
        zipfile.ZipFile(path, "a") as archive,
        pytest.warns(UserWarning, match="Duplicate name"),
    ):
        archive.writestr("tables/house.room.jsonl", b"")
    assert NOT_WHOLE in refusal(path)


def test_photo_that_unpacks_to_far_more_than_it_takes(archived, empty, tmp_path):
    """A photo is stored as it is, so one that is packed is not ours."""

    def swell(members, manifest):
        members["files/media/photos/big.jsonl"] = bytes(3_000_000)

    path = changed(archived.path, tmp_path / "bomb.zip", swell)
    assert path.stat().st_size < 1_000_000
    assert NOT_WHOLE in refusal(path)
    assert is_untouched(empty)


def test_table_that_unpacks_to_far_more_than_rows_would(archived, empty, tmp_path):
    def swell(members, manifest):
        members["tables/house.room.jsonl"] = b"\n" * 20_000_000

    path = changed(archived.path, tmp_path / "bomb.zip", swell)
    assert path.stat().st_size < 1_000_000
    assert NOT_WHOLE in refusal(path)


def test_members_that_lie_over_each_other(archived, empty, tmp_path):
    """Entries of a zip that all show to the same bytes unpack to more than the file holds."""
    with zipfile.ZipFile(archived.path) as archive:
        photo = next(info for info in archive.infolist() if info.filename.endswith(".jpg"))
    path = tmp_path / "over.zip"
    path.write_bytes(archived.path.read_bytes())
    with zipfile.ZipFile(path, "a") as archive:
        for number in range(2 + path.stat().st_size // photo.compress_size):
            copy = zipfile.ZipInfo(f"files/media/photos/{number}.jpg")
            for name in ("header_offset", "compress_size", "file_size", "CRC", "compress_type"):
                setattr(copy, name, getattr(photo, name))
            archive.filelist.append(copy)
            archive.NameToInfo[copy.filename] = copy
        archive._didModify = True
    assert NOT_WHOLE in refusal(path)


def test_too_many_bytes_of_tables(archived, empty, monkeypatch):
    monkeypatch.setattr(reading, "MOST_TABLE_BYTES", 1000)
    assert NOT_WHOLE in refusal(archived.path)


def test_disk_with_too_little_room(archived, empty, monkeypatch):
    monkeypatch.setattr(Archive, "room_needed", lambda _: 10**18)
    assert "too little room" in refusal(archived.path)
    assert is_untouched(empty)


def drop_a_table(members, manifest):
    del members["tables/work.note.jsonl"]


def drop_a_column(members, manifest):
    rows = [json.loads(line) for line in members["tables/house.room.jsonl"].splitlines()]
    for row in rows:
        del row["name"]
    members["tables/house.room.jsonl"] = b"".join(json.dumps(row).encode() + b"\n" for row in rows)


def spoil_a_value(members, manifest):
    lines = members["tables/house.room.jsonl"].splitlines()
    row = {**json.loads(lines[0]), "house_id": "nowhere"}
    members["tables/house.room.jsonl"] = b"\n".join([json.dumps(row).encode(), *lines[1:], b""])


def lose_the_house(members, manifest):
    members["tables/house.house.jsonl"] = b""


def double_a_row(members, manifest):
    members["tables/work.note.jsonl"] *= 2


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (drop_a_table, NOT_WHOLE),
        (drop_a_column, "holds a row of house.room that Halfbay cannot read"),
        (spoil_a_value, "holds a row of house.room that Halfbay cannot read"),
        (lose_the_house, "contradict each other"),
        (double_a_row, "contradict each other"),
    ],
)
@pytest.mark.django_db(transaction=True)
def test_rows_that_cannot_be(archived, empty, tmp_path, change, words):
    assert words in refusal(changed(archived.path, tmp_path / "wrong.zip", change))
    assert is_untouched(empty)


@pytest.mark.django_db(transaction=True)
def test_house_that_is_already_there(archived, empty):
    house = HouseFactory(name="Elm Street")
    assert refusal(archived.path).startswith("There is a house here already: Elm Street.")
    assert House.all_objects.get() == house
    assert raw_files(empty) == {}
    with pytest.raises(CommandError, match="There is a house here already"):
        call_command("restore", archived.path)


def test_person_who_is_already_there(archived, empty):
    Person.objects.create(name="Ada")
    assert "in use already" in refusal(archived.path)


def test_photos_that_are_already_there(archived, empty):
    photo = empty / "media" / "photos" / "one.jpg"
    photo.parent.mkdir(parents=True)
    photo.write_bytes(b"picture")
    assert "photos or print sets" in refusal(archived.path)
    assert raw_files(empty) == {"media/photos/one.jpg": b"picture"}
    assert not House.all_objects.exists()


def test_second_restore_of_the_same(archived, empty):
    restore(archived.path)
    assert "There is a house here already" in refusal(archived.path)
    assert raw_files(empty) == archived.files


@pytest.mark.django_db(transaction=True)
def test_disk_that_fills_up_while_photos_are_moved(archived, empty, monkeypatch):
    move = restoring._move_files

    def full(place, moved):
        move(place, moved)
        assert moved
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(restoring, "_move_files", full)
    assert "No space left on device. Nothing was restored" in refusal(archived.path)
    assert is_untouched(empty)
    monkeypatch.setattr(restoring, "_move_files", move)
    restore(archived.path)
    assert raw_files(empty) == archived.files


@pytest.mark.django_db(transaction=True)
def test_restore_after_one_that_ended_before_its_rows_were_committed(archived, empty, tmp_path):
    """The process was killed with the photos moved already: the next try is as the first."""
    manifest = members_of(archived.path)[1]
    (empty / WORKPLACE / "files").mkdir(parents=True)
    (empty / WORKPLACE / "manifest.json").write_text(json.dumps(manifest))
    for name, content in archived.files.items():
        (empty / name).parent.mkdir(parents=True, exist_ok=True)
        (empty / name).write_bytes(content)
    restore(archived.path)
    assert raw_files(empty) == archived.files
    assert House.objects.exists()
    assert not (empty / WORKPLACE).exists()


def test_what_another_restore_left_is_removed_for_this_one(archived, empty, tmp_path):
    """The process that was killed restored another archive, whose rows never came."""
    left = empty / "media" / "photos" / "other.jpg"
    left.parent.mkdir(parents=True)
    left.write_bytes(b"picture")
    outside = tmp_path / "outside.jpg"
    outside.write_bytes(b"mine")
    names = ["files/media/photos/other.jpg", "files/media/../../outside.jpg", "files/x", 5]
    (empty / WORKPLACE).mkdir()
    (empty / WORKPLACE / "manifest.json").write_text(
        json.dumps({"members": [{"name": name} for name in names]})
    )
    restore(archived.path)
    assert raw_files(empty) == archived.files
    assert outside.exists()


def test_what_another_restore_left_is_not_taken_for_this_one(archived, empty):
    photo = empty / "media" / "photos" / "one.jpg"
    photo.parent.mkdir(parents=True)
    photo.write_bytes(b"picture")
    (empty / WORKPLACE).mkdir()
    (empty / WORKPLACE / "manifest.json").write_text('{"format": 1}')
    assert "photos or print sets" in refusal(archived.path)
    assert photo.read_bytes() == b"picture"


def test_no_transaction_is_left_open(archived, empty, tmp_path):
    depth = len(connection.savepoint_ids)
    refusal(changed(archived.path, tmp_path / "wrong.zip", drop_a_column))
    assert len(connection.savepoint_ids) == depth
    assert not connection.needs_rollback
