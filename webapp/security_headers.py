"""The response headers that bind every page, whoever serves it: this server or the phone's worker."""

from __future__ import annotations

CONTENT_SECURITY_POLICY = "; ".join((
    "default-src 'none'", "script-src 'self'", "style-src 'self'", "img-src 'self' data: blob:", "font-src 'self'",
    "connect-src 'self'", "media-src 'self' blob:", "manifest-src 'self'", "worker-src 'self'", "base-uri 'none'",
    "form-action 'self'", "frame-ancestors 'none'", "object-src 'none'",
))
PERMISSIONS_POLICY = ", ".join(f"{feature}=()" for feature in (
    "accelerometer", "camera", "display-capture", "geolocation", "gyroscope", "hid", "magnetometer",
    "microphone", "midi", "payment", "serial", "usb", "xr-spatial-tracking",
))


def security_headers(https: bool) -> dict[str, str]:
    """Gives the headers of every response; `https` adds what only an encrypted address may promise.

    The referrer stays within the origin and is not cut off: over https the form check compares it.
    """
    headers = {
        "Content-Security-Policy": CONTENT_SECURITY_POLICY,
        "Referrer-Policy": "same-origin",
        "X-Content-Type-Options": "nosniff",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
        "Permissions-Policy": PERMISSIONS_POLICY,
    }
    if https:
        headers["Strict-Transport-Security"] = "max-age=63072000; includeSubDomains"
    return headers
