"""Every page of the registry names its action. Who may open it is asked in tests/project/test_every_page.py."""

import pkgutil
from importlib import import_module

from registry import routes
from registry.access import roles


def test_each_action_of_the_pages_is_in_the_permission_table():
    modules = [import_module(f"registry.routes.{module.name}") for module in pkgutil.iter_modules(routes.__path__)]
    patterns = [pattern for module in modules for pattern in module.urlpatterns]
    assert patterns
    for pattern in patterns:
        if pattern.name != "decision_by_link":  # whoever holds the link has no account
            assert pattern.callback.view_class.action in roles.ACTIONS, pattern.name
