from registry.access import roles
from registry.forms.shared.fields import RecordForm
from registry.models import Person


class PersonForm(RecordForm):
    groups = [
        ("Who it is", ("first_name", "last_name", "username", "email", "phone", "language")),
        ("What they do", ("role", "partner", "is_active", "left_on")),
    ]

    class Meta:
        model = Person
        fields = ["first_name", "last_name", "username", "email", "phone", "role", "partner", "is_active", "left_on", "language"]
        labels = {"username": "Sign-in name", "email": "E-mail", "is_active": "Active"}
        help_texts = {
            "username": "Letters, digits and . @ + - _ only.",
            "email": "The link to set a password is mailed there.",
            "language": "Of mails to a volunteer or landowner, and of the pages that they read. They can choose it there too.",
            "partner": "For a landowner contact: whose land it is. They see only the records of this partner.",
            "is_active": "Clear this when somebody leaves. Accounts are not deleted: the entries they made still show their name.",
            "left_on": "From this day they cannot sign in, and their papers have no holder. See “Who holds what” under Papers.",
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        for name in ("first_name", "last_name", "email"):
            self.fields[name].required = True

    def clean(self):
        cleaned = super().clean()
        landowner = cleaned.get("role") == roles.LANDOWNER
        if landowner and not cleaned.get("partner"):
            self.add_error("partner", "A landowner contact needs the partner whose land it is.")
        if not landowner and cleaned.get("partner") and "role" in cleaned:
            self.add_error(
                "partner", f"Leave this blank for a {roles.ROLES[cleaned['role']].lower()}; only a landowner contact has a partner."
            )
        return cleaned
