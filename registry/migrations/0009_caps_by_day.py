import django.db.models.deletion
from django.db import migrations, models
from django.db.models import Q

from registry.models.append_only import protect_again


class Migration(migrations.Migration):
    dependencies = [("registry", "0008_programme_address")]
    operations = [
        migrations.RemoveConstraint(model_name="authorization", name="authorization_drawn_within_cap"),
        migrations.AlterField(
            model_name="authorizationdraw",
            name="lot",
            field=models.ForeignKey(
                blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="draws", to="registry.lot"
            ),
        ),
        migrations.AddConstraint(
            model_name="authorizationdraw",
            constraint=models.CheckConstraint(
                condition=Q(kind="opening", lot__isnull=True) | ~Q(kind="opening") & Q(lot__isnull=False),
                name="authorizationdraw_lot_unless_opening",
            ),
        ),
        migrations.RunPython(*protect_again("registry_authorizationdraw")),
    ]
