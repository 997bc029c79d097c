"""Photos and print sets in a storage that is no folder, as where web and workers share none."""

from __future__ import annotations

import pytest
from django.core.files.storage import default_storage
from django.urls import reverse

from remodel.archive.files import bytes_stored, file_names, stores
from remodel.archive.restoring import restore
from remodel.archive.writing import write_archive
from remodel.cards.pack_files import pack_files
from remodel.house.models import House
from remodel.work.models import Photo
from tests.remodel.everything import Everything

pytestmark = pytest.mark.django_db(transaction=True)

MEMORY = {"BACKEND": "django.core.files.storage.InMemoryStorage"}


def in_memory(settings):
    """Both storages, new and empty. Setting them makes Django forget those it had."""
    settings.STORAGES = settings.STORAGES | {"default": dict(MEMORY), "packs": dict(MEMORY)}


def test_archive_comes_out_of_one_storage_and_into_another(settings, tmp_path, hosted):
    settings.DATA_DIR = tmp_path
    in_memory(settings)
    everything = Everything()
    photo = Photo.objects.get().image.name
    stored = {kind: list(file_names(store)) for kind, store in stores().items()}
    assert stored == {"media": [photo], "packs": ["everything.pdf"]}
    assert not (tmp_path / "packs").exists()
    page = everything.client(everything.ada).get(
        reverse("house-pack-file", args=[everything.values["pack_id"]])
    )
    assert b"".join(page.streaming_content) == b"%PDF-1.7"
    picture, sizes = default_storage.open(photo).read(), bytes_stored()
    write_archive(tmp_path / "all.zip")

    from django.core.management import call_command

    call_command("flush", verbosity=0, interactive=False)
    in_memory(settings)
    assert bytes_stored() == []
    restore(tmp_path / "all.zip")
    assert House.objects.get().pk == everything.house.pk
    assert default_storage.open(photo).read() == picture
    assert bytes_stored() == sizes
    assert pack_files().exists("everything.pdf")
