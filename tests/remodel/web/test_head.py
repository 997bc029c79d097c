"""HEAD is answered where GET is."""

import pytest

from tests.remodel.factories import HouseFactory, ada

pytestmark = pytest.mark.django_db


def test_head_is_answered_as_get_without_the_body(client):
    house = HouseFactory(owner=ada())
    got, asked = client.get(f"/house/{house.pk}"), client.head(f"/house/{house.pk}")
    assert asked.status_code == got.status_code == 200
    assert asked.content == b""
    assert int(asked["Content-Length"]) > 1000


def test_head_of_what_is_only_posted_is_refused(client):
    assert client.head("/devices/code").status_code == 405
