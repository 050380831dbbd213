from django.db import migrations

from registry.models.append_only import protect_again
from registry.services.audit.taking_over import take_over

APPEND_ONLY = (
    "agreementsignature", "agreementtext", "authorizationdraw", "authorizationstaterecord", "authorizationversion", "cautionseen",
    "cautiontext", "determination", "dutydone", "harvest", "identityevidence", "incidentnotice", "issuedprint", "ledgerentry",
    "measuredshare", "paperdocument", "rating", "seedtest", "seedtestreplicate", "selectiondecision", "storagerecord", "storedfile",
    "treatment", "treestatusrecord",
)
PARENTS = ("mother_id", "father_id", "pollen_pool_id")
STATED = (
    ("person", ("username", "role", "is_active", "is_staff", "is_superuser", "partner_id"), ""),
    ("pedigreetree", ("code", "taxon_id", *PARENTS, "backcrosses", "intercrosses", "generation_other", "regulated_engineered", "planted_year"), ""),
    ("lot", ("code", "kind", "origin", "taxon_id", "year", *PARENTS, "parent_id"), ""),
)


def take_over_records(apps, schema_editor):
    take_over(apps, app="registry", append_only=APPEND_ONLY, stated=STATED)


class Migration(migrations.Migration):
    dependencies = [("registry", "0011_prints_and_labels")]
    operations = [
        # on SQLite these now refuse INSERT OR REPLACE too
        migrations.RunPython(*protect_again("registry_auditentry", *(f"registry_{name}" for name in APPEND_ONLY))),
        migrations.RunPython(take_over_records, migrations.RunPython.noop),
    ]
