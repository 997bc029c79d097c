import pytest

pytestmark = pytest.mark.usefixtures("sink_site")


def readback(client, text, units="in", field="width"):
    return client.get("/length-readback", {"field": field, "units": units, field: text})


def test_a_length_is_read_back_in_words(client):
    assert readback(client, "12-6 1/2").content.decode() == "Reads as 12 ft 6 1/2 in"


def test_a_metric_house_hears_millimetres(client):
    assert readback(client, "3,81 m", units="mm").content.decode() == "Reads as 3810 mm"


def test_half_a_length_is_no_error(client):
    answer = readback(client, "12' 6 1/")

    assert answer.status_code == 200
    assert answer.content.decode().startswith("Not read yet. ")


def test_nothing_typed_says_nothing(client):
    assert readback(client, "").content == b""
    assert client.get("/length-readback").content == b""


def test_what_is_typed_comes_back_as_text(client):
    assert b"<b>" not in readback(client, "<b>").content


def test_a_field_of_any_name_is_read(client):
    assert readback(client, '6"', field="rows-0-width").content == b"Reads as 6 in"


def test_only_get(client):
    assert client.post("/length-readback").status_code == 405
