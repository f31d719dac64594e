"""What every answer says a browser must not do. No script, no style and no picture but those of the package."""

#: W3C Content Security Policy Level 3: nothing unless named; no inline script or style, no frame, no foreign address.
POLICY = "; ".join(
    (
        "default-src 'none'", "script-src 'self'", "style-src 'self'", "img-src 'self' blob:", "connect-src 'self'",
        "manifest-src 'self'", "form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'", "object-src 'none'",
    )
)  # fmt: skip

#: on every answer
HEADERS: tuple[tuple[bytes, bytes], ...] = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    # with "no-referrer" a browser sends Origin: null with our own forms too; this way no foreign server sees one either
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"permissions-policy", b"geolocation=(), microphone=(), payment=(), usb=()"),
    (b"x-frame-options", b"DENY"),
)
