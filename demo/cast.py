"""Who asks the demo workshop for what: people, places and aircraft invented, engines and patterns from the catalogue."""

CUSTOMERS = (
    ("Maren Oddvik", "maren.oddvik@post.example", "Fjellhage 12", "5811", "Brattvoll", "NO"),
    ("Corwin Askelund", "corwin@askelund.example", "Alte Ziegelei 3", "17489", "Lubbenow", "DE"),
    ("Philippa Rookwood", "p.rookwood@post.example", "9 Harrow Lees", "TN30 9ZZ", "Wennock", "GB"),
    ("Jorin Vandekamp", "jorin@vandekamp.example", "Molendijk 88", "9999 ZZ", "Oudeveer", "NL"),
    ("Tilda Marchetti", "tilda.marchetti@post.example", "Via dei Gelsi 21", "00000", "Borgofino", "IT"),
    ("Auberon Castellane", "auberon@castellane.example", "4 Chemin des Aulnes", "00100", "Saint-Orme", "FR"),
    ("Hedda Lindqvarn", "hedda@lindqvarn.example", "Kvarngatan 7", "000 00", "Lillsund", "SE"),
    ("Bastian Tormahlen", "bastian@tormahlen.example", "Am Wiesensteig 15", "00123", "Grunholm", "DE"),
    ("Ottoline Fairbrass", "ottoline@fairbrass.example", "Glebe Cottage", "IP99 9ZZ", "Little Sawtry", "GB"),
    ("Rasmus Elverdal", "rasmus@elverdal.example", "Havnevej 31", "0000", "Nordstrup", "DK"),
    ("Wendeline Brokaw", "w.brokaw@post.example", "1180 Quarry Road", "00000", "Tamarack Falls", "US"),
    ("Ignaz Perlmoser", "ignaz@perlmoser.example", "Lindenallee 4", "0000", "Hinterbrugg", "AT"),
    ("Saskia Dornbos", "saskia@dornbos.example", "Terpweg 2", "0000 AA", "Wierum-Oost", "NL"),
    ("Leopold Quastenberg", "leopold@quastenberg.example", "Sandweg 40", "00456", "Krahnwerder", "DE"),
    ("Imke Harlesiel", "imke@harlesiel.example", "Deichstrasse 9", "00789", "Altfunnix", "DE"),
)
"""Name, e-mail, street, postcode, city, country."""

FLIGHT = {"use": "flight", "speed_unit": "mph", "length_unit": "in", "wish": "known", "delivery": "ship"}

WISHES: tuple[dict[str, str], ...] = (
    {**FLIGHT, "airframe_name": "Moorhen parasol", "category": "amateur-built", "engine": "continental-a65-8f",
     "hub": "sae-1", "diameter": "72", "pitch": "44", "timber": "yellow-birch", "top_speed": "95",
     "cruise_speed": "82", "finish": "spar-varnish"},
    {**FLIGHT, "airframe_name": "Tansy two-seat biplane", "category": "amateur-built", "engine": "continental-c85-12f",
     "hub": "sae-1", "diameter": "72", "pitch": "46", "timber": "sugar-maple", "top_speed": "105",
     "cruise_speed": "92", "guard": "brass", "finish": "spar-varnish"},
    {**FLIGHT, "airframe_name": "Sedge Warbler", "category": "microlight", "engine": "rotax-912-ul-227",
     "hub": "metric-75", "diameter": "66", "pitch": "44", "timber": "american-beech", "top_speed": "110",
     "cruise_speed": "95", "finish": "clear-polyurethane"},
    {**FLIGHT, "airframe_name": "Kittiwake low-wing", "category": "amateur-built", "engine": "continental-o-200-a",
     "hub": "sae-1", "diameter": "68", "pitch": "50", "timber": "yellow-birch", "top_speed": "128",
     "cruise_speed": "112", "guard": "stainless", "finish": "spar-varnish-5"},
    {**FLIGHT, "airframe_name": "Bramble single-seater", "category": "amateur-built", "engine": "vw-1835",
     "hub": "vw-4in", "hole": "0.39", "diameter": "56", "pitch": "30", "timber": "white-ash", "top_speed": "96",
     "cruise_speed": "84", "finish": "spar-varnish"},
    {**FLIGHT, "airframe_name": "Heron tourer", "category": "amateur-built", "engine": "lycoming-o-235-c1",
     "hub": "sae-1", "diameter": "70", "pitch": "53", "timber": "sugar-maple", "top_speed": "125",
     "cruise_speed": "110", "guard": "brass", "finish": "spar-varnish"},
    {**FLIGHT, "airframe_name": "Old Sallow, 1931 pattern", "category": "replica", "engine": "kinner-b-5",
     "hub": "as-measured", "bolts": "8", "circle": "7.25", "hole": "0.516", "pilot": "3", "diameter": "96", "pitch": "62",
     "timber": "black-walnut", "top_speed": "108", "cruise_speed": "90", "finish": "spar-varnish",
     "decal_text": "Sallow Aero 1931"},
    {"use": "display", "length_unit": "in", "wish": "known", "diameter": "84", "pitch": "60", "hub": "blank-boss",
     "timber": "black-cherry", "finish": "shellac", "decal_text": "Fennfoot Summer Fair", "delivery": "ship"},
    {**FLIGHT, "airframe_name": "Plover pusher trike", "category": "microlight", "position": "pusher",
     "engine": "rotax-912-uls", "hub": "metric-101", "diameter": "67", "pitch": "42", "timber": "american-beech",
     "top_speed": "75", "cruise_speed": "60", "finish": "clear-polyurethane", "guard": "cast-urethane"},
    {**FLIGHT, "airframe_name": "Corncrake three-blade", "category": "amateur-built", "blades": "3",
     "engine": "continental-o-200-a", "hub": "sae-1", "diameter": "64", "pitch": "48", "timber": "yellow-birch",
     "top_speed": "125", "cruise_speed": "108", "finish": "spar-varnish"},
)  # fmt: skip
"""What is asked for, as typed on the ask page."""

WALK = {
    **FLIGHT,
    "airframe_name": "Whimbrel parasol",
    "category": "amateur-built",
    "engine": "continental-a65-8f",
    "hub": "sae-1",
    "wish": "known",
    "diameter": "72",
    "pitch": "44",
    "timber": "yellow-birch",
    "top_speed": "95",
    "cruise_speed": "82",
    "finish": "spar-varnish",
    "decal_text": "Whimbrel No. 1",
}
"""The enquiry of the walk along the whole path."""
