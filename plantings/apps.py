from django.apps import AppConfig


class PlantingsConfig(AppConfig):
    name = "plantings"
    verbose_name = "Plantings: sites, trees, census, survival"

    def ready(self):
        from plantings.models import Observation
        from plantings.selectors.facts import land_of_site
        from plantings.selectors.verify import check_census
        from plantings.services.supply import line_unplanted
        from registry.selectors.leftovers import count_unplanted_by
        from registry.selectors.sites import find_sites_by
        from registry.selectors.verify import summed_by

        count_unplanted_by(line_unplanted)
        find_sites_by(land_of_site)
        summed_by(Observation, check_census)
