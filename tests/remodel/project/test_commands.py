"""The commands: the demo house, serving addresses."""

import pytest
from django.core.management import CommandError, call_command

from remodel.house.models import House
from remodel.management.commands.serve import addresses


@pytest.mark.django_db
def test_demo_is_loaded_once():
    call_command("load_demo", if_empty=True, verbosity=0)
    call_command("load_demo", if_empty=True, verbosity=0)
    house = House.objects.get()
    assert house.is_demo
    assert house.rooms.count() == 11


@pytest.mark.django_db
def test_missing_demo_file_is_said_plainly(tmp_path):
    with pytest.raises(CommandError, match="Cannot read"):
        call_command("load_demo", file=tmp_path / "none.json")


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "8.8.8.8", "example.org", ""])
def test_serving_to_the_world_is_refused(host):
    with pytest.raises(CommandError):
        addresses(host, 8000)


def test_local_listens_on_this_machine_alone():
    assert addresses("local", 8000) == (["127.0.0.1:8000"], "")
    assert addresses("192.168.1.20", 8000) == (
        ["127.0.0.1:8000", "192.168.1.20:8000"],
        "192.168.1.20",
    )
