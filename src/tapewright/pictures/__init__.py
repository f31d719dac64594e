"""Picture files: PNG, JPEG, TIFF and WebP in, checked before they are decoded; overlays and practice scans out."""
