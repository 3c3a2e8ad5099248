"""Add confirmations of catalogue rows, and versions that take over from others."""

import django.db.models.deletion
from django.db import migrations, models

from records.models.trigger_operations import KeepHistory


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0003_jobs'),
    ]

    operations = [
        migrations.CreateModel(
            name='TakeOver',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('uses', models.PositiveIntegerField()),
                ('change', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='take_overs', to='records.change')),
                ('new', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='takes_over', to='records.catalogueentry')),
                ('old', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, related_name='taken_over', to='records.catalogueentry')),
            ],
        ),
        migrations.CreateModel(
            name='Confirmation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('edition', models.CharField(max_length=120)),
                ('table', models.CharField(max_length=120)),
                ('url', models.CharField(blank=True, max_length=300)),
                ('note', models.CharField(blank=True, max_length=400)),
                ('change', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='confirmations', to='records.change')),
                ('class_direction', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='confirmations', to='records.classdirection')),
                ('figure', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='confirmations', to='records.figure')),
                ('scheme_colour', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='confirmations', to='records.schemecolour')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(models.Q(('class_direction__isnull', True), ('figure__isnull', False), ('scheme_colour__isnull', True)), models.Q(('class_direction__isnull', False), ('figure__isnull', True), ('scheme_colour__isnull', True)), models.Q(('class_direction__isnull', True), ('figure__isnull', True), ('scheme_colour__isnull', False)), _connector='OR'), name='confirmation_is_of_one_row')],
            },
        ),
        migrations.CreateModel(
            name='ConfirmationHistory',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('since', models.BigIntegerField()),
                ('until', models.BigIntegerField(default=9223372036854775807)),
                ('id', models.BigIntegerField()),
                ('edition', models.CharField(max_length=120)),
                ('table', models.CharField(max_length=120)),
                ('url', models.CharField(blank=True, max_length=300)),
                ('note', models.CharField(blank=True, max_length=400)),
                ('change', models.ForeignKey(db_column='change_id', db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='records.change')),
                ('class_direction', models.ForeignKey(db_column='class_direction_id', db_constraint=False, db_index=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='records.classdirection')),
                ('figure', models.ForeignKey(db_column='figure_id', db_constraint=False, db_index=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='records.figure')),
                ('scheme_colour', models.ForeignKey(db_column='scheme_colour_id', db_constraint=False, db_index=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='records.schemecolour')),
            ],
            options={
                'db_table': 'records_confirmation_history',
                'indexes': [models.Index(fields=['id', 'since'], name='confirmation_past_id'), models.Index(fields=['figure', 'since'], name='confirmation_past_figure'), models.Index(fields=['class_direction', 'since'], name='confirmation_past_class_direct'), models.Index(fields=['scheme_colour', 'since'], name='confirmation_past_scheme_colou'), models.Index(fields=['since'], name='confirmation_past_since'), models.Index(condition=models.Q(('until__lt', 9223372036854775807)), fields=['until'], name='confirmation_past_until')],
            },
        ),
        migrations.CreateModel(
            name='TakeOverHistory',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('since', models.BigIntegerField()),
                ('until', models.BigIntegerField(default=9223372036854775807)),
                ('id', models.BigIntegerField()),
                ('uses', models.PositiveIntegerField()),
                ('change', models.ForeignKey(db_column='change_id', db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='records.change')),
                ('new', models.ForeignKey(db_column='new_id', db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='records.catalogueentry')),
                ('old', models.ForeignKey(db_column='old_id', db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='records.catalogueentry')),
            ],
            options={
                'db_table': 'records_takeover_history',
                'indexes': [models.Index(fields=['id', 'since'], name='takeover_past_id'), models.Index(fields=['old', 'since'], name='takeover_past_old'), models.Index(fields=['since'], name='takeover_past_since'), models.Index(condition=models.Q(('until__lt', 9223372036854775807)), fields=['until'], name='takeover_past_until')],
            },
        ),
        KeepHistory("confirmation"),
        KeepHistory("takeover"),
    ]
