"""Picture files: PNG, JPEG, TIFF and WebP in, checked before they are decoded; overlays out."""

from tapewright.adapters.pictures.decode import PictureFile, read_picture

__all__ = ["PictureFile", "read_picture"]
