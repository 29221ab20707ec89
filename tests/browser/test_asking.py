"""The ask page in a browser: an error at its field while typing, units switched in place, the answer in sight on a phone."""

PICTURE = {"name": "mark.png", "mimeType": "image/png", "buffer": b"not read here"}


def open_page(look, address, **chosen):
    page = look(**chosen)
    page.goto(f"{address}/ask/")
    page.select_option("[name=airframe]", "piper-j-3c-65")
    page.select_option("[name=engine]", "continental-a65-8f")
    page.wait_for_selector("#answer .answer-figures")
    return page


def test_what_cannot_be_read_is_told_at_its_field_until_it_is_mended(look, address):
    page = open_page(look, address)
    power = page.locator("[name=power]")
    power.fill("50 horses")
    power.press("Tab")
    told = page.locator("#live-power")
    told.wait_for()
    assert "such as 65" in told.inner_text()
    assert power.get_attribute("aria-invalid") == "true"
    assert "live-power" in power.get_attribute("aria-describedby")
    power.fill("50 hp")
    power.press("Tab")
    page.wait_for_selector("#answer .answer-figures")
    assert told.count() == 0
    assert power.get_attribute("aria-invalid") is None


def test_the_other_unit_converts_in_place_and_keeps_file_ticks_and_focus(look, address):
    page = open_page(look, address)
    page.fill("[name=hub_height]", "54")
    page.fill("[name=remark]", "Half written")
    page.check("[name=quiet]")
    page.set_input_files("[name=decal_picture]", PICTURE)
    page.click("#lengths-in-mm")
    page.wait_for_selector("#lengths-in-mm[aria-pressed=true]")
    assert page.input_value("[name=hub_height]") == "1371.6"
    assert page.input_value("[name=length_unit]") == "mm"
    assert page.input_value("[name=remark]") == "Half written"
    assert page.is_checked("[name=quiet]")
    assert page.evaluate("document.querySelector('[name=decal_picture]').files.length") == 1
    assert page.evaluate("document.activeElement.id") == "lengths-in-mm"


def test_without_scripts_the_other_unit_converts_too(look, address):
    page = look(script=False)
    page.goto(f"{address}/ask/")
    page.fill("[name=hub_height]", "54")
    page.click("#lengths-in-mm")
    assert page.input_value("[name=hub_height]") == "1371.6"
    assert page.locator("#lengths-in-mm").get_attribute("aria-pressed") == "true"


def test_on_a_phone_sum_and_day_stay_in_sight_and_cover_no_field(look, address):
    page = open_page(look, address, width=390)
    bar = page.locator("#answer-bar")
    assert "EUR" in bar.inner_text()
    page.locator("[name=free_radius]").focus()
    box, field = bar.bounding_box(), page.locator("[name=free_radius]").bounding_box()
    assert box["y"] + box["height"] <= 901
    assert field["y"] + field["height"] <= box["y"]
    bar.get_by_role("link").click()
    assert page.locator("#answer").bounding_box()["y"] < 450


def test_a_half_written_message_outlives_the_switch_of_units(look, address, shop):
    page = look()
    page.goto(f"{address}/enquiry/{shop.enquiry().token}/")
    page.fill("[name=body]", "Half a thought")
    page.get_by_role("button", name="mm", exact=True).click()
    page.wait_for_selector(".switch [value=mm][aria-pressed=true]")
    assert page.input_value("[name=body]") == "Half a thought"
