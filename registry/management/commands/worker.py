from django.core.management.base import BaseCommand
from django.utils import timezone

from registry.services.jobs.worker import JobWorker, results_tidy


class Command(BaseCommand):
    help = (
        "Do long work, such as large permit files and reports, one after another as people start it, until it is stopped. "
        "`manage.py start` runs one beside the server."
    )

    def add_arguments(self, parser):
        parser.add_argument("--batch", action="store_true", help="do what is waiting, then end")

    def handle(self, *, batch, **options):
        results_tidy(timezone.now())
        worker = JobWorker(batch=batch)
        worker.configure_signals()
        worker.run()
