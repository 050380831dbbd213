"""What a box for a code offers as somebody types."""

from django.http import Http404, JsonResponse

from registry.forms.shared.offers import offers


def offers_response(request, form):
    """What a box for a code offers while somebody types, from the choices of its own form."""
    found = offers(form, request.GET["offer"], request.GET.get("fits", "").strip())
    if found is None:
        raise Http404("This form has no such box for a code.")
    return JsonResponse(found)
