"""The Content-Security-Policy of every answer."""

POLICY = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "img-src": "'self' data:",
    "font-src": "'self'",
    "connect-src": "'self'",
    "frame-src": "'self'",
    "manifest-src": "'self'",
    "form-action": "'self'",
    "frame-ancestors": "'self'",
    "base-uri": "'none'",
}


def policy_text(**changes):
    """The policy as a header value; keyword `script_src="…"` replaces one directive."""
    policy = POLICY | {name.replace("_", "-"): value for name, value in changes.items()}
    return "; ".join(f"{name} {value}" for name, value in policy.items())


class ContentSecurityPolicyMiddleware:
    """Sets the strict policy unless the view set its own (the map document needs a nonce)."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", policy_text())
        return response
