"""The front page where only the demo house is there, and what its pages say of it."""

from __future__ import annotations

import pytest
from django.urls import reverse

from remodel.history.services import By
from remodel.house_files.new import house_add
from remodel.people.services import household

pytestmark = pytest.mark.django_db
NOTE = "An invented house, to look around in."


@pytest.fixture
def demo():
    house = house_add(by=By(household()), name="Hollow Lane")
    house.is_demo = True
    house.save()
    return house


def test_first_start_opens_on_a_choice(client, demo):
    page = client.get("/").content.decode()
    for name in ("house-new", "house-import", "measuring-sheet"):
        assert reverse(name) in page
    assert reverse("house-detail", args=[demo.pk]) in page


def test_house_of_ones_own_is_opened_and_beside_the_demo_both_are_listed(client, demo):
    own = house_add(by=By(household()), name="Elm Street")
    assert client.get("/")["Location"] == reverse("house-list")
    demo.delete()
    assert client.get("/")["Location"] == reverse("house-detail", args=[own.pk])


def test_pages_of_the_demo_say_that_it_is_one_and_how_to_begin(client, demo):
    page = client.get(reverse("price-list", args=[demo.pk])).content.decode()
    assert NOTE in page
    own = house_add(by=By(household()), name="Elm Street")
    assert NOTE not in client.get(reverse("house-detail", args=[own.pk])).content.decode()


def test_sheet_to_measure_with_has_a_row_for_each_wall(client):
    page = client.get(reverse("measuring-sheet")).content.decode()
    assert all(f'<th scope="row">{wall}</th>' in page for wall in "ABCDEFGH")
