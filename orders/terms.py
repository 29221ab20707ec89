"""The terms of sale in words, versioned with the workshop's `terms_version`; the owner's adviser has the last word.

What they ask and keep are figures of the price book the quote was made under, so that terms and later reckoning agree.
"""

from decimal import Decimal

from quoting.pricing.book import PriceBook
from quoting.pricing.money import Money


def clauses(book: PriceBook) -> tuple[tuple[str, str], ...]:
    """Headings and texts of the terms with the figures of a price book."""
    return (
        (
            "1. What you buy",
            "The propeller drawn and described in this quote, made by hand in wood. Wood varies in colour and figure; "
            "the measurements on the build record are what counts.",
        ),
        (
            "2. What it is not",
            "No figure in this quote is an approval. On a type-certificated airframe only a propeller its approved "
            "data allow may be fitted. Ask your inspector or licensed mechanic. A display piece is stamped NOT FOR "
            "FLIGHT.",
        ),
        (
            "3. Deposit and balance",
            "The deposit is due with your acceptance, the balance before dispatch; for each payment you get a "
            "receipt. " + _cancelling(book),
        ),
        (
            "4. Drawing, mock-up and changes",
            "No wood is cut before you have approved the drawing, no varnish laid before you have approved the "
            "mock-up. " + _changing(book),
        ),
        (
            "5. The date",
            "Your place in the queue begins when the deposit is paid and the drawing approved. The quote names the day "
            "by which its date counts on these; for each day later the promised day moves a day. The date is our honest "
            "forecast; if it moves we tell you why.",
        ),
        (
            "6. Sending and keeping",
            "Carriage, insurance in transit and import duty are what the lines of this quote say; where a line is "
            "missing, it is yours to see to. " + _keeping(book),
        ),
        (
            "7. Care",
            "Check the bolts after the first flight, after 25 hours, then every 50 hours and when the season changes. "
            "Do not fly with a cracked, split or loosened propeller.",
        ),
    )


def _cancelling(book: PriceBook) -> str:
    """What is kept of a deposit."""
    before, after = book["deposit.kept_uncut"], book["deposit.kept_cut"]
    kept = (
        f"we keep {_plain(before)} percent of the deposit and give the rest back" if before else
        "we give the whole deposit back"
    )  # fmt: skip
    cut = (
        "the deposit is kept, because the wood is yours alone" if after == 100 else
        f"we keep {_plain(after)} percent of it" if after else "we still give it back"
    )  # fmt: skip
    return f"If you cancel before wood is cut {kept}; once wood is cut {cut}."


def _changing(book: PriceBook) -> str:
    fee = Money.rounded(book["change.fee"], book.currency)
    if not fee:
        return "A change after you have approved the drawing costs what the change itself costs."
    return (
        f"A change you ask for after you have approved the drawing costs {fee} before tax, beside what the change "
        "itself costs."
    )


def _keeping(book: PriceBook) -> str:
    """Storage of a propeller that nobody has paid."""
    weeks, rate = book["storage.free_weeks"], Money.rounded(book["storage.per_week"], book.currency)
    if not rate:
        return "A propeller that is ready and not paid is kept for nothing."
    begin = "from the day its balance is asked for"
    free = f"is kept {_plain(weeks)} weeks {begin} for nothing; after that" if weeks else f"is kept; {begin}"
    return f"A propeller that is ready and not paid {free} storage is {rate} before tax for each week begun."


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"
