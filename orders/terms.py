"""The terms of sale in words, versioned with the workshop's `terms_version`; the owner's adviser has the last word."""

TERMS: tuple[tuple[str, str], ...] = (
    (
        "1. What you buy",
        "The propeller drawn and described in this quote, made by hand in wood. Wood varies in colour and figure; "
        "the measurements on the build record are what counts.",
    ),
    (
        "2. What it is not",
        "No figure in this quote is an approval. On a type-certificated airframe only a propeller its approved data "
        "allow may be fitted. Ask your inspector or licensed mechanic. A display piece is stamped NOT FOR FLIGHT.",
    ),
    (
        "3. Deposit and balance",
        "The deposit with your acceptance, the balance before dispatch. Until wood is cut a deposit is given back on "
        "cancellation; once wood is cut, what was spent is kept.",
    ),
    (
        "4. Drawing and mock-up",
        "No wood is cut before you have approved the drawing, no varnish laid before you have approved the mock-up.",
    ),
    (
        "5. The date",
        "Your place in the queue begins when the deposit is paid and the drawing approved. The date is our honest "
        "forecast; if it moves we tell you why.",
    ),
    (
        "6. Care",
        "Check the bolts after the first flight, after 25 hours, then every 50 hours and when the season changes. "
        "Do not fly with a cracked, split or loosened propeller.",
    ),
)
