"""A picture somebody sends: looked at before it is opened, opened, and written anew without what hides in files."""

import io
import warnings
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from PIL import Image, ImageOps, UnidentifiedImageError

ACCEPTED = ("PNG", "JPEG", "WEBP")
LARGEST_FILE = 8_000_000
MOST_PIXELS = 24_000_000
LONGEST_SIDE = 2000


def redrawn(upload: "UploadedFile[Any]") -> bytes:
    """The picture as a fresh PNG of at most 2000 pixels a side, upright, without metadata.

    Raises ValidationError saying what would be accepted.
    """
    if (upload.size or 0) > LARGEST_FILE:
        raise forms.ValidationError(_("Send a picture of at most 8 MB."), code="too-large")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(upload, formats=ACCEPTED) as picture:
                if picture.width * picture.height > MOST_PIXELS:
                    raise forms.ValidationError(
                        _("Send a picture of at most 24 million pixels."), code="too-many-pixels"
                    )
                picture.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
                upright = ImageOps.exif_transpose(picture)
                clean = Image.new("RGBA", upright.size)
                clean.paste(upright.convert("RGBA"))
    except (
        UnidentifiedImageError,
        OSError,
        ValueError,
        SyntaxError,
        Image.DecompressionBombError,
        Image.DecompressionBombWarning,
    ) as fault:
        raise forms.ValidationError(
            _("This is no picture we can read. Send a PNG, JPEG or WebP file."), code="no-picture"
        ) from fault
    out = io.BytesIO()
    clean.save(out, "PNG", optimize=False)
    return out.getvalue()


class PictureField(forms.FileField):
    """An optional picture; its cleaned value is the fresh PNG, or None."""

    widget = forms.FileInput(attrs={"accept": "image/png,image/jpeg,image/webp"})
    default_error_messages = {"empty": gettext_lazy("The file is empty. Send a PNG, JPEG or WebP picture.")}

    def clean(self, data: "UploadedFile[Any] | None", initial: object = None) -> bytes | None:
        upload = super().clean(data, initial)
        return redrawn(upload) if upload else None
