"""Add print runs and printed labels, sightings, label rules, stock, offsets, hazard statements."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from records.models.trigger_operations import KeepHistory


class Migration(migrations.Migration):

    dependencies = [
        ('records', '0004_catalogue_standing'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='LabelRules',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('host', models.CharField(max_length=120)),
                ('has_upper_case_link', models.BooleanField(default=True)),
                ('has_upper_case_text', models.BooleanField(default=True)),
                ('requires_qr', models.BooleanField(default=False)),
                ('smallest_module_mm', models.DecimalField(decimal_places=3, max_digits=4)),
                ('language', models.CharField(max_length=8)),
                ('signal', models.CharField(blank=True, max_length=40)),
                ('words', models.CharField(blank=True, max_length=300)),
            ],
            options={
                'verbose_name_plural': 'label rules',
                'constraints': [models.CheckConstraint(condition=models.Q(('id', 1)), name='label_rules_are_one_row'), models.CheckConstraint(condition=models.Q(models.Q(('signal', ''), ('words', '')), models.Q(models.Q(('signal', ''), _negated=True), models.Q(('words', ''), _negated=True)), _connector='OR'), name='label_rules_have_signal_and_words_or_neither')],
            },
        ),
        migrations.CreateModel(
            name='LabelRulesHistory',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('since', models.BigIntegerField()),
                ('until', models.BigIntegerField(default=9223372036854775807)),
                ('id', models.BigIntegerField()),
                ('host', models.CharField(max_length=120)),
                ('has_upper_case_link', models.BooleanField(default=True)),
                ('has_upper_case_text', models.BooleanField(default=True)),
                ('requires_qr', models.BooleanField(default=False)),
                ('smallest_module_mm', models.DecimalField(decimal_places=3, max_digits=4)),
                ('language', models.CharField(max_length=8)),
                ('signal', models.CharField(blank=True, max_length=40)),
                ('words', models.CharField(blank=True, max_length=300)),
            ],
            options={
                'db_table': 'records_labelrules_history',
                'indexes': [models.Index(fields=['id', 'since'], name='labelrules_past_id'), models.Index(fields=['since'], name='labelrules_past_since'), models.Index(condition=models.Q(('until__lt', 9223372036854775807)), fields=['until'], name='labelrules_past_until')],
            },
        ),
        migrations.CreateModel(
            name='OwnStock',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=40, unique=True)),
                ('shape', models.CharField(choices=[('sheet', 'sheet'), ('tape', 'tape, cut to length'), ('die-cut', 'die-cut labels on a roll')], max_length=7)),
                ('geometry', models.TextField()),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('shape__in', ['sheet', 'tape', 'die-cut'])), name='own_stock_shape_is_known')],
            },
        ),
        migrations.CreateModel(
            name='OwnStockHistory',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('since', models.BigIntegerField()),
                ('until', models.BigIntegerField(default=9223372036854775807)),
                ('id', models.BigIntegerField()),
                ('name', models.CharField(max_length=40)),
                ('shape', models.CharField(choices=[('sheet', 'sheet'), ('tape', 'tape, cut to length'), ('die-cut', 'die-cut labels on a roll')], max_length=7)),
                ('geometry', models.TextField()),
            ],
            options={
                'db_table': 'records_ownstock_history',
                'indexes': [models.Index(fields=['id', 'since'], name='ownstock_past_id'), models.Index(fields=['since'], name='ownstock_past_since'), models.Index(condition=models.Q(('until__lt', 9223372036854775807)), fields=['until'], name='ownstock_past_until')],
            },
        ),
        migrations.CreateModel(
            name='PrinterOffset',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('printer', models.CharField(max_length=60)),
                ('stock', models.CharField(max_length=40)),
                ('right_mm', models.DecimalField(decimal_places=2, max_digits=4)),
                ('down_mm', models.DecimalField(decimal_places=2, max_digits=4)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('printer', 'stock'), name='printer_offset_is_one_a_printer_and_sheet')],
            },
        ),
        migrations.CreateModel(
            name='PrinterOffsetHistory',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('since', models.BigIntegerField()),
                ('until', models.BigIntegerField(default=9223372036854775807)),
                ('id', models.BigIntegerField()),
                ('printer', models.CharField(max_length=60)),
                ('stock', models.CharField(max_length=40)),
                ('right_mm', models.DecimalField(decimal_places=2, max_digits=4)),
                ('down_mm', models.DecimalField(decimal_places=2, max_digits=4)),
            ],
            options={
                'db_table': 'records_printeroffset_history',
                'indexes': [models.Index(fields=['id', 'since'], name='printeroffset_past_id'), models.Index(fields=['since'], name='printeroffset_past_since'), models.Index(condition=models.Q(('until__lt', 9223372036854775807)), fields=['until'], name='printeroffset_past_until')],
            },
        ),
        migrations.CreateModel(
            name='PrintRun',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('chosen', models.CharField(max_length=200)),
                ('stock', models.TextField()),
                ('rules', models.TextField()),
                ('file', models.CharField(choices=[('pdf', 'PDF'), ('png', 'pictures, one a label (PNG)')], default='pdf', max_length=3)),
                ('start', models.PositiveIntegerField(default=1)),
                ('right_mm', models.DecimalField(decimal_places=2, default=0, max_digits=4)),
                ('down_mm', models.DecimalField(decimal_places=2, default=0, max_digits=4)),
                ('has_outlines', models.BooleanField(default=False)),
                ('label_count', models.PositiveIntegerField()),
                ('digest', models.CharField(max_length=64)),
                ('change', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='print_runs', to='records.change')),
            ],
        ),
        migrations.CreateModel(
            name='PrintedLabelHistory',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('since', models.BigIntegerField()),
                ('until', models.BigIntegerField(default=9223372036854775807)),
                ('id', models.BigIntegerField()),
                ('position', models.PositiveIntegerField()),
                ('kind', models.CharField(max_length=20)),
                ('noun', models.CharField(blank=True, max_length=10)),
                ('thing', models.BigIntegerField(blank=True, null=True)),
                ('cable_end', models.CharField(blank=True, max_length=1)),
                ('tray', models.CharField(blank=True, max_length=20)),
                ('texts', models.TextField()),
                ('diameter_mm', models.DecimalField(blank=True, decimal_places=1, max_digits=4, null=True)),
                ('spoiled', models.CharField(blank=True, max_length=200)),
                ('place', models.ForeignKey(db_column='place_id', db_constraint=False, db_index=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='records.place')),
                ('tag', models.ForeignKey(db_column='tag_id', db_constraint=False, db_index=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='records.tag')),
                ('run', models.ForeignKey(db_column='run_id', db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='records.printrun')),
            ],
            options={
                'db_table': 'records_printedlabel_history',
            },
        ),
        migrations.CreateModel(
            name='PrintedLabel',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('position', models.PositiveIntegerField()),
                ('kind', models.CharField(max_length=20)),
                ('noun', models.CharField(blank=True, max_length=10)),
                ('thing', models.BigIntegerField(blank=True, null=True)),
                ('cable_end', models.CharField(blank=True, max_length=1)),
                ('tray', models.CharField(blank=True, max_length=20)),
                ('texts', models.TextField()),
                ('diameter_mm', models.DecimalField(blank=True, decimal_places=1, max_digits=4, null=True)),
                ('spoiled', models.CharField(blank=True, max_length=200)),
                ('place', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='printed_labels', to='records.place')),
                ('tag', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='printed', to='records.tag')),
                ('run', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='labels', to='records.printrun')),
            ],
        ),
        migrations.CreateModel(
            name='PrintRunHistory',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('since', models.BigIntegerField()),
                ('until', models.BigIntegerField(default=9223372036854775807)),
                ('id', models.BigIntegerField()),
                ('chosen', models.CharField(max_length=200)),
                ('stock', models.TextField()),
                ('rules', models.TextField()),
                ('file', models.CharField(choices=[('pdf', 'PDF'), ('png', 'pictures, one a label (PNG)')], default='pdf', max_length=3)),
                ('start', models.PositiveIntegerField(default=1)),
                ('right_mm', models.DecimalField(decimal_places=2, default=0, max_digits=4)),
                ('down_mm', models.DecimalField(decimal_places=2, default=0, max_digits=4)),
                ('has_outlines', models.BooleanField(default=False)),
                ('label_count', models.PositiveIntegerField()),
                ('digest', models.CharField(max_length=64)),
                ('change', models.ForeignKey(db_column='change_id', db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='records.change')),
            ],
            options={
                'db_table': 'records_printrun_history',
            },
        ),
        migrations.CreateModel(
            name='Sighting',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='sightings', to=settings.AUTH_USER_MODEL)),
                ('tag', models.ForeignKey(db_index=False, on_delete=django.db.models.deletion.PROTECT, related_name='sightings', to='records.tag')),
            ],
        ),
        migrations.CreateModel(
            name='HazardStatement',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('level', models.CharField(choices=[('1', '1'), ('1M', '1M'), ('2', '2'), ('2M', '2M'), ('3R', '3R'), ('3B', '3B'), ('4', '4')], max_length=2)),
                ('assessor', models.CharField(max_length=80)),
                ('stated_date', models.DateField()),
                ('note', models.CharField(blank=True, max_length=200)),
                ('withdrawn', models.CharField(blank=True, max_length=200)),
                ('place', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='hazard_statements', to='records.place')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('level__in', ['1', '1M', '2', '2M', '3R', '3B', '4'])), name='hazard_level_is_known')],
            },
        ),
        migrations.CreateModel(
            name='HazardStatementHistory',
            fields=[
                ('row', models.BigAutoField(primary_key=True, serialize=False)),
                ('since', models.BigIntegerField()),
                ('until', models.BigIntegerField(default=9223372036854775807)),
                ('id', models.BigIntegerField()),
                ('level', models.CharField(choices=[('1', '1'), ('1M', '1M'), ('2', '2'), ('2M', '2M'), ('3R', '3R'), ('3B', '3B'), ('4', '4')], max_length=2)),
                ('assessor', models.CharField(max_length=80)),
                ('stated_date', models.DateField()),
                ('note', models.CharField(blank=True, max_length=200)),
                ('withdrawn', models.CharField(blank=True, max_length=200)),
                ('place', models.ForeignKey(db_column='place_id', db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='records.place')),
            ],
            options={
                'db_table': 'records_hazardstatement_history',
                'indexes': [models.Index(fields=['id', 'since'], name='hazardstatement_past_id'), models.Index(fields=['place', 'since'], name='hazardstatement_past_place'), models.Index(fields=['since'], name='hazardstatement_past_since'), models.Index(condition=models.Q(('until__lt', 9223372036854775807)), fields=['until'], name='hazardstatement_past_until')],
            },
        ),
        migrations.AddConstraint(
            model_name='printrun',
            constraint=models.CheckConstraint(condition=models.Q(('file__in', ['pdf', 'png'])), name='print_run_file_is_known'),
        ),
        migrations.AddConstraint(
            model_name='printrun',
            constraint=models.CheckConstraint(condition=models.Q(('label_count__gte', 1), ('start__gte', 1)), name='print_run_has_a_label'),
        ),
        migrations.AddIndex(
            model_name='printedlabelhistory',
            index=models.Index(fields=['id', 'since'], name='printedlabel_past_id'),
        ),
        migrations.AddIndex(
            model_name='printedlabelhistory',
            index=models.Index(fields=['since'], name='printedlabel_past_since'),
        ),
        migrations.AddIndex(
            model_name='printedlabelhistory',
            index=models.Index(condition=models.Q(('until__lt', 9223372036854775807)), fields=['until'], name='printedlabel_past_until'),
        ),
        migrations.AddIndex(
            model_name='printedlabel',
            index=models.Index(fields=['noun', 'thing'], name='printed_label_thing'),
        ),
        migrations.AddConstraint(
            model_name='printedlabel',
            constraint=models.UniqueConstraint(fields=('run', 'position'), name='printed_label_position_is_unique'),
        ),
        migrations.AddConstraint(
            model_name='printedlabel',
            constraint=models.CheckConstraint(condition=models.Q(('noun', ''), ('thing__isnull', False), _connector='XOR'), name='printed_label_is_for_one_thing_or_blank'),
        ),
        migrations.AddConstraint(
            model_name='printedlabel',
            constraint=models.CheckConstraint(condition=models.Q(('noun__in', ['', 'point', 'equipment', 'place', 'line', 'cable'])), name='printed_label_noun_is_known'),
        ),
        migrations.AddIndex(
            model_name='printrunhistory',
            index=models.Index(fields=['id', 'since'], name='printrun_past_id'),
        ),
        migrations.AddIndex(
            model_name='printrunhistory',
            index=models.Index(fields=['since'], name='printrun_past_since'),
        ),
        migrations.AddIndex(
            model_name='printrunhistory',
            index=models.Index(condition=models.Q(('until__lt', 9223372036854775807)), fields=['until'], name='printrun_past_until'),
        ),
        migrations.AddIndex(
            model_name='sighting',
            index=models.Index(fields=['tag', 'at'], name='sighting_tag_at'),
        ),
        KeepHistory("labelrules"),
        KeepHistory("ownstock"),
        KeepHistory("printeroffset"),
        KeepHistory("printrun"),
        KeepHistory("printedlabel"),
        KeepHistory("hazardstatement"),
    ]
