"""Stock that was there before movements were kept begins with a count; what a swap said of a condition is a fact."""

from django.db import migrations
from django.utils import timezone

CONDITIONS = ("working", "faulty", "beyond repair")


def count_standing_stock(apps, schema_editor):
    movement = apps.get_model("register", "StockMovement")
    facts = {
        "kind": "count",
        "on": timezone.localdate(),
        "at": timezone.now(),
        "reason": "Standing stock, when movements began to be kept",
    }
    lines = apps.get_model("register", "StockLine").objects.filter(quantity__gt=0)
    made = [movement(line=line, change=line.quantity, balance=line.quantity, **facts) for line in lines.iterator()]
    assets = apps.get_model("register", "Asset").objects.filter(state="in store")
    made += [movement(asset=asset, change=1, **facts) for asset in assets.iterator()]
    movement.objects.bulk_create(made, batch_size=500)


def take_conditions_from_reasons(apps, schema_editor):
    ended = apps.get_model("register", "Installation").objects.filter(to_date__isnull=False)
    for condition in CONDITIONS:
        ended.filter(reason_out__startswith=f"{condition}: ").update(condition_out=condition)


class Migration(migrations.Migration):
    dependencies = [("register", "0013_stock_movements")]
    operations = [
        migrations.RunPython(count_standing_stock, migrations.RunPython.noop),
        migrations.RunPython(take_conditions_from_reasons, migrations.RunPython.noop),
    ]
