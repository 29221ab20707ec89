"""What the desk's forms say of a box left empty or a figure out of bounds."""

from orders.desk.forms import RecordForm, TransferForm


def test_an_empty_box_is_named_where_it_has_no_words_of_its_own():
    form = TransferForm({}, choices=[("R-1", "deposit R-1")], currency="EUR")
    assert form.errors["bank_reference"] == ["Still to be filled in: The bank's reference"]
    assert form.errors["received_on"] == ["Still to be filled in: Received on"]


def test_minutes_out_of_bounds_are_told_in_plain_words(shop):
    said = [RecordForm({"minutes": typed}).errors["minutes"][0] for typed in ("", "0", "1441", "12.5")]
    assert said == [
        "Enter the minutes you worked, such as 45.",
        "Enter at least one minute of work.",
        "Enter at most 1440 minutes: no stage takes more than a day at once.",
        "Enter whole minutes in plain digits, such as 45.",
    ]


def test_a_browser_that_looks_for_the_mark_finds_it(anyone):
    went = anyone.get("/favicon.ico", follow=False)
    assert went.status_code == 302 and "mark" in went.headers["Location"]
