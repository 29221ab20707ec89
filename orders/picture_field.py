"""A picture somebody sends, at every door alike: weighed before it is opened, and drawn anew without what hides in files."""

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


def upright(upload: "UploadedFile[Any]", longest_side: int) -> Image.Image:
    """The picture's pixels alone in RGBA, turned upright, at most `longest_side` pixels a side.

    What it is the decoder says, whatever the file is called. Raises ValidationError saying what would be accepted.
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
                picture.thumbnail((longest_side, longest_side))
                turned = ImageOps.exif_transpose(picture)
                clean = Image.new("RGBA", turned.size)
                clean.paste(turned.convert("RGBA"))
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
    return clean


class PictureField(forms.FileField):
    """An optional picture; its cleaned value is a fresh PNG of at most 2000 pixels a side, or None."""

    longest_side = 2000
    widget = forms.FileInput(attrs={"accept": "image/png,image/jpeg,image/webp"})
    default_error_messages = {"empty": gettext_lazy("The file is empty. Send a PNG, JPEG or WebP picture.")}

    def clean(self, data: "UploadedFile[Any] | None", initial: object = None) -> bytes | None:
        upload = super().clean(data, initial)
        return self.written(upright(upload, self.longest_side)) if upload else None

    def written(self, picture: Image.Image) -> bytes:
        out = io.BytesIO()
        picture.save(out, "PNG", optimize=False)
        return out.getvalue()


class PhotographField(PictureField):
    """An optional photograph; its cleaned value is a fresh JPEG of at most 1600 pixels a side, or None."""

    longest_side = 1600

    def written(self, picture: Image.Image) -> bytes:
        opaque = Image.new("RGB", picture.size, "white")
        opaque.paste(picture, mask=picture.getchannel("A"))
        out = io.BytesIO()
        opaque.save(out, "JPEG", quality=82)
        return out.getvalue()
