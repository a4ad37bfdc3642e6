"""Headers that tell the browser to run and load nothing but this site's own files."""

POLICY = "; ".join(
    (
        "default-src 'self'",
        "img-src 'self' data:",
        "object-src 'none'",
        "frame-ancestors 'none'",
        "base-uri 'none'",
        "form-action 'self'",
    )
)
PERMISSIONS = "camera=(self), microphone=(), geolocation=(), payment=(), usb=()"


class ContentSecurityPolicyMiddleware:
    """Sends the policy with every answer: no inline script or style, no other host, no framing."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", POLICY)
        response.headers.setdefault("Permissions-Policy", PERMISSIONS)
        return response
