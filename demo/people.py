"""Who may sign in to the demonstration, and how. Everybody here is invented."""

PASSWORD = "spokeshave-and-glue"  # noqa: S105 -- the demonstration's, printed at every start
OWNER = "runa@fennfoot.example"
BENCH = "tadeo@fennfoot.example"
BOOKKEEPER = "ilsabet@fennfoot.example"
CUSTOMER = "maren.oddvik@post.example"

SIGN_INS = (
    ("owner", OWNER, f"password: {PASSWORD}"),
    ("bench", BENCH, f"password: {PASSWORD}"),
    ("bookkeeper", BOOKKEEPER, f"password: {PASSWORD}"),
    ("customer", CUSTOMER, "a code by mail, which the local tray shows"),
)
