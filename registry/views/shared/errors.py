from django.shortcuts import render


def csrf_failure(request, reason=""):
    """The page somebody sees whose form was not accepted: usually signed out meanwhile, or cookies are off."""
    return render(request, "403_csrf.html", status=403)
