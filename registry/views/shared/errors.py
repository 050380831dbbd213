from django.shortcuts import render


def csrf_failure(request, reason=""):
    """The page shown when a form was not accepted: usually the person has signed out since, or cookies are off."""
    return render(request, "403_csrf.html", status=403)
