from django.apps import AppConfig


class PlantingsConfig(AppConfig):
    name = "plantings"
    verbose_name = "Plantings: sites, trees, census, survival"

    def ready(self):
        from plantings.models import Observation
        from plantings.selectors.census.verify import check_census
        from plantings.selectors.gate.facts import land_of_site
        from plantings.selectors.sites.stored_files import layer_files
        from plantings.services.supply import line_unplanted
        from registry.selectors.audit.stored_files import files_named_by
        from registry.selectors.audit.verify import summed_by
        from registry.selectors.movements.leftovers import count_unplanted_by
        from registry.selectors.movements.site_land import find_sites_by

        files_named_by(layer_files)
        count_unplanted_by(line_unplanted)
        find_sites_by(land_of_site)
        summed_by(Observation, check_census)
