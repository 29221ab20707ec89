"""What is sent to the pages, and how they are read."""

from html.parser import HTMLParser

PERSON = {
    "name": "Alice Wren",
    "email": "alice@example.org",
    "street": "Field Lane 1",
    "postcode": "12345",
    "city": "Moor",
    "country": "DE",
}
ASKED = {
    "use": "flight",
    "category": "amateur-built",
    "airframe_name": "One-off of my own",
    "top_speed": "100",
    "engine": "continental-a65-8f",
    "hub": "sae-1",
    "wish": "known",
    "diameter": "72",
    "pitch": "44",
    "timber": "yellow-birch",
    **PERSON,
}


class Fields(HTMLParser):
    """Values of the inputs of a page, and the names of those marked invalid."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.values: dict[str, str] = {}
        self.invalid: set[str] = set()
        self._area = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {key: value or "" for key, value in attrs}
        name = given.get("name", "")
        ticked = given.get("type") in ("radio", "checkbox")
        if tag == "input" and (not ticked or "checked" in given):
            self.values[name] = given.get("value", "on" if ticked else "")
        if tag == "textarea":
            self._area = name
        if given.get("aria-invalid") == "true":
            self.invalid.add(name)

    def handle_data(self, data: str) -> None:
        if self._area:
            self.values[self._area] = data.strip("\n")

    def handle_endtag(self, tag: str) -> None:
        if tag == "textarea":
            self._area = ""
