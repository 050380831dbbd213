"""Who measures a tree a second time does not see it, nor its records, before they have handed in."""

from django.apps import apps

from registry.access import roles


class BlindRows:
    """The row rule of trees and their records, for a queryset: a volunteer's own open draws hide their trees from them, with the fate
    that the first records gave them. `tree_path` leads from a row to its tree.

    Nothing is hidden from the office: its lists and downloads must not lack rows. The result of a draw says where one of them measured.
    """

    tree_path = "pk"

    def for_user(self, user):
        rows = super().for_user(user)
        if getattr(user, "role", None) != roles.VOLUNTEER:
            return rows
        draws = apps.get_model("plantings", "SecondDraw").objects.open().filter(measurer=user.pk)
        hidden = apps.get_model("plantings", "SecondTree").objects.filter(draw__in=draws)
        return rows.exclude(**{f"{self.tree_path}__in": hidden.values("tree")})
