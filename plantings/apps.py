from django.apps import AppConfig
from django.db.models.signals import post_migrate


class PlantingsConfig(AppConfig):
    name = "plantings"
    verbose_name = "Plantings: sites, trees, census, survival"

    def ready(self):
        from plantings.models import Observation
        from plantings.selectors.census.verify import check_census
        from plantings.selectors.gate.facts import land_of_site
        from plantings.services.supply import line_unplanted
        from plantings.services.tallies import recount_older_tallies
        from registry.selectors.audit.verify import summed_by
        from registry.selectors.movements.leftovers import count_unplanted_by
        from registry.selectors.movements.site_land import find_sites_by

        count_unplanted_by(line_unplanted)
        find_sites_by(land_of_site)
        summed_by(Observation, check_census)
        post_migrate.connect(recount_older_tallies, sender=self)
