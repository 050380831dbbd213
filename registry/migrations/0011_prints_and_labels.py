import django.db.models.deletion
import django.db.models.expressions
from django.db import migrations, models

from registry.models.append_only import protect, protect_again


class Migration(migrations.Migration):
    dependencies = [("registry", "0010_handbook_fruit_and_bath")]
    operations = [
        # a renamed table would carry triggers with the earlier name
        migrations.RunPython(*reversed(protect("registry_issuedpaper"))),
        migrations.RenameModel("IssuedPaper", "IssuedPrint"),
        migrations.RunPython(*protect_again("registry_issuedprint")),
        migrations.AlterField(
            model_name='authorization',
            name='basis',
            field=models.TextField(blank=True, help_text='For a determination that no paper is needed: who was asked, and what was read.', verbose_name='basis'),
        ),
        migrations.AlterField(
            model_name='authorization',
            name='issuer_contact',
            field=models.CharField(blank=True, max_length=160, verbose_name='contact at the issuer'),
        ),
        migrations.AlterField(
            model_name='authorization',
            name='review_by',
            field=models.DateField(blank=True, null=True, verbose_name='ask again by'),
        ),
        migrations.AlterField(
            model_name='authorization',
            name='transferable',
            field=models.BooleanField(default=False, verbose_name='continues when the holder leaves'),
        ),
        migrations.AlterField(
            model_name='authorizationversion',
            name='from_on',
            field=models.DateField(blank=True, null=True, verbose_name='in effect from'),
        ),
        migrations.AlterField(
            model_name='cautiontext',
            name='months',
            field=models.JSONField(blank=True, default=list, verbose_name='months it applies to'),
        ),
        migrations.AlterField(
            model_name='cautiontext',
            name='site_codes',
            field=models.JSONField(blank=True, default=list, verbose_name='sites it applies to'),
        ),
        migrations.AlterField(
            model_name='determination',
            name='carried_out',
            field=models.BooleanField(default=False, verbose_name='dispatched or planted under this answer'),
        ),
        migrations.AlterField(
            model_name='duty',
            name='days_before',
            field=models.PositiveSmallIntegerField(default=0, verbose_name='days before that day'),
        ),
        migrations.AlterField(
            model_name='duty',
            name='every',
            field=models.PositiveSmallIntegerField(default=1, verbose_name='interval (months or years)'),
        ),
        migrations.AlterField(
            model_name='issuedprint',
            name='authorizations',
            field=models.ManyToManyField(blank=True, related_name='issued_prints', to='registry.authorization'),
        ),
        migrations.AlterField(
            model_name='issuedprint',
            name='lots',
            field=models.ManyToManyField(blank=True, related_name='issued_prints', to='registry.lot'),
        ),
        migrations.AlterField(
            model_name='issuedprint',
            name='shipments',
            field=models.ManyToManyField(blank=True, related_name='issued_prints', to='registry.shipment'),
        ),
        migrations.AlterField(
            model_name='issuedprint',
            name='trees',
            field=models.ManyToManyField(blank=True, related_name='issued_prints', to='registry.pedigreetree'),
        ),
        migrations.AlterField(
            model_name='ledgerentry',
            name='reference',
            field=models.CharField(blank=True, help_text='your own number for this entry; loading it again changes nothing', max_length=60),
        ),
        migrations.AlterField(
            model_name='materialclass',
            name='is_inherited',
            field=models.BooleanField(default=False, verbose_name='seed inherits it from its parents'),
        ),
        migrations.AlterField(
            model_name='partner',
            name='region',
            field=models.CharField(blank=True, help_text='Such as US-VT. Rules use it.', max_length=10, verbose_name='country or subdivision (ISO 3166)'),
        ),
        migrations.AlterField(
            model_name='partner',
            name='consent_on',
            field=models.DateField(blank=True, null=True, verbose_name='consent to store contacts given on'),
        ),
        migrations.AlterField(
            model_name='pollenpool',
            name='flowered_on',
            field=models.DateField(blank=True, help_text='Trees alive on this day are in the pool. Leave blank for 1 June.', null=True, verbose_name='day of flowering'),
        ),
        migrations.AlterField(
            model_name='pollenpool',
            name='outside_taxon',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='registry.taxon', verbose_name='taxon of outside pollen'),
        ),
        migrations.AlterField(
            model_name='pollenpoolmember',
            name='weight',
            field=models.DecimalField(blank=True, decimal_places=4, help_text='Any unit, such as male flowers counted. Weigh every member or none.', max_digits=7, null=True, verbose_name='share of the pollen'),
        ),
        migrations.AlterField(
            model_name='privatelink',
            name='ends_on',
            field=models.DateField(blank=True, null=True, verbose_name='valid until'),
        ),
        migrations.AlterField(
            model_name='programmesetting',
            name='basis',
            field=models.CharField(blank=True, max_length=200, verbose_name='basis'),
        ),
        migrations.AlterField(
            model_name='reportingclock',
            name='title',
            field=models.CharField(max_length=120, verbose_name='what to report'),
        ),
        migrations.AlterField(
            model_name='requirement',
            name='blocking',
            field=models.BooleanField(default=True, verbose_name='stops dispatch and planting'),
        ),
        migrations.AlterField(
            model_name='requirement',
            name='edition',
            field=models.CharField(max_length=60, verbose_name='edition of the source'),
        ),
        migrations.AlterField(
            model_name='requirement',
            name='review_by',
            field=models.DateField(blank=True, null=True, verbose_name='ask again by'),
        ),
        migrations.AlterField(
            model_name='requirement',
            name='text',
            field=models.TextField(blank=True, verbose_name='what it requires, in our words'),
        ),
        migrations.AlterField(
            model_name='selectiondecision',
            name='warnings_answer',
            field=models.CharField(blank=True, max_length=300, verbose_name='reason for going ahead despite the warnings'),
        ),
        migrations.AlterField(
            model_name='shipment',
            name='receiving_person',
            field=models.CharField(blank=True, max_length=120, verbose_name='person who receives it'),
        ),
        migrations.AlterField(
            model_name='shipment',
            name='site_code',
            field=models.CharField(blank=True, help_text='Code of the site, if it is meant for one.', max_length=40, verbose_name='for the site'),
        ),
        migrations.AlterField(
            model_name='specieshandbook',
            name='germination_samples',
            field=models.PositiveIntegerField(blank=True, null=True, verbose_name='number of samples'),
        ),
        migrations.AlterField(
            model_name='storagerecord',
            name='by',
            field=models.CharField(max_length=80, verbose_name='checked by'),
        ),
        migrations.AlterConstraint(
            model_name='authorization',
            name='authorization_ends_after_start',
            constraint=models.CheckConstraint(condition=models.Q(('starts_on__isnull', True), ('ends_on__isnull', True), ('ends_on__gte', models.F('starts_on')), _connector='OR'), name='authorization_ends_after_start', violation_error_message='The end date is before the start date.'),
        ),
        migrations.AlterConstraint(
            model_name='authorizationversion',
            name='authorizationversion_ends_after_start',
            constraint=models.CheckConstraint(condition=models.Q(('starts_on__isnull', True), ('ends_on__isnull', True), ('ends_on__gte', models.F('starts_on')), _connector='OR'), name='authorizationversion_ends_after_start', violation_error_message='The end date is before the start date.'),
        ),
        migrations.AlterConstraint(
            model_name='authorizationversion',
            name='authorizationversion_amendment_dated',
            constraint=models.CheckConstraint(condition=models.Q(('number', 0), models.Q(('from_on__isnull', False), models.Q(('reason', ''), _negated=True)), _connector='OR'), name='authorizationversion_amendment_dated', violation_error_message='Give the day the amendment takes effect and what was amended.'),
        ),
        migrations.AlterConstraint(
            model_name='dutydone',
            name='dutydone_has_evidence',
            constraint=models.CheckConstraint(condition=models.Q(('evidence', ''), _negated=True), name='dutydone_has_evidence', violation_error_message='Give the evidence that it was done.'),
        ),
        migrations.AlterConstraint(
            model_name='identityquestion',
            name='identityquestion_settled_whole',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('settled_on__isnull', True), ('settlement', ''), ('settlement_text', '')), models.Q(('settled_on__isnull', False), models.Q(('settlement', ''), _negated=True), models.Q(('settlement_text', ''), _negated=True)), _connector='OR'), name='identityquestion_settled_whole', violation_error_message='To settle the question, give the date, the outcome and how it was settled.'),
        ),
        migrations.AlterConstraint(
            model_name='measuredshare',
            name='measuredshare_tree_or_lot',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('lot__isnull', True), ('tree__isnull', False)), models.Q(('lot__isnull', False), ('tree__isnull', True)), _connector='OR'), name='measuredshare_tree_or_lot', violation_error_message='Give a tree or a lot, not both.'),
        ),
        migrations.AlterConstraint(
            model_name='pedigreetree',
            name='pedigreetree_status_has_reason',
            constraint=models.CheckConstraint(condition=models.Q(('status', 'standing'), models.Q(('status_reason', ''), _negated=True), _connector='OR'), name='pedigreetree_status_has_reason', violation_error_message='Give the reason why the tree is dead or rogued.'),
        ),
        migrations.AlterConstraint(
            model_name='pollenpool',
            name='pollenpool_shares_within_1',
            constraint=models.CheckConstraint(condition=models.Q(('outside_share__isnull', True), ('selfing_share__isnull', True), ('outside_share__lte', django.db.models.expressions.CombinedExpression(models.Value(1), '-', models.F('selfing_share'))), _connector='OR'), name='pollenpool_shares_within_1', violation_error_message='Outside share and selfing share add up to more than 1.'),
        ),
        migrations.AlterConstraint(
            model_name='ratingscale',
            name='ratingscale_spans',
            constraint=models.CheckConstraint(condition=models.Q(('highest__gt', models.F('lowest')), ('step__gt', 0)), name='ratingscale_spans', violation_error_message='The highest score must be above the lowest, and the step above zero.'),
        ),
        migrations.AlterConstraint(
            model_name='requirement',
            name='requirement_has_source',
            constraint=models.CheckConstraint(condition=models.Q(('source', ''), _negated=True), name='requirement_has_source', violation_error_message='Give the source of the rule.'),
        ),
        migrations.AlterConstraint(
            model_name='requirement',
            name='requirement_verified_whole',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('verified_by', ''), ('verified_on__isnull', True), ('verified_with', '')), models.Q(('verified_on__isnull', False), models.Q(('verified_with', ''), _negated=True), models.Q(('verified_by', ''), _negated=True)), _connector='OR'), name='requirement_verified_whole', violation_error_message='To mark the rule as verified, give the date, the authority and who checked.'),
        ),
        migrations.AlterConstraint(
            model_name='requirement',
            name='requirement_until_after_from',
            constraint=models.CheckConstraint(condition=models.Q(('from_on__isnull', True), ('until_on__isnull', True), ('until_on__gte', models.F('from_on')), _connector='OR'), name='requirement_until_after_from', violation_error_message='The last day is before the first.'),
        ),
        migrations.AlterConstraint(
            model_name='selectiondecision',
            name='selectiondecision_warnings_answered',
            constraint=models.CheckConstraint(condition=models.Q(('warnings', []), models.Q(('warnings_answer', ''), _negated=True), _connector='OR'), name='selectiondecision_warnings_answered', violation_error_message='This decision breaks a diversity floor. Give the reason for going ahead.'),
        ),
        migrations.AlterConstraint(
            model_name='storagerecord',
            name='storagerecord_percent_0_100',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('sprouted_percent__isnull', True), models.Q(('sprouted_percent__gte', 0), ('sprouted_percent__lte', 100)), _connector='OR'), models.Q(('mouldy_percent__isnull', True), models.Q(('mouldy_percent__gte', 0), ('mouldy_percent__lte', 100)), _connector='OR')), name='storagerecord_percent_0_100', violation_error_message='Enter a percentage from 0 to 100.'),
        ),
        migrations.AlterConstraint(
            model_name='treatment',
            name='treatment_ends_after_start',
            constraint=models.CheckConstraint(condition=models.Q(('ended_on__isnull', True), ('ended_on__gte', models.F('started_on')), _connector='OR'), name='treatment_ends_after_start', violation_error_message='The end is before the start.'),
        ),
    ]
