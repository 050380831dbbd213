"""Addresses of the gate: its answers, the rules, the classes of material."""

from django.urls import path

from registry.views.gate import determinations, rules

urlpatterns = [
    path("gate/", determinations.DeterminationListView.as_view(), name="determination_list"),
    path("gate/ask/", determinations.DeterminationAskView.as_view(), name="determination_ask"),
    path("gate/<int:pk>/", determinations.DeterminationDetailView.as_view(), name="determination_detail"),
    path("rules/", rules.RequirementListView.as_view(), name="requirement_list"),
    path("rules/new/", rules.RequirementFormView.as_view(), name="requirement_add"),
    path("rules/<int:pk>/", rules.RequirementDetailView.as_view(), name="requirement_detail"),
    path("rules/<int:pk>/change/", rules.RequirementFormView.as_view(), name="requirement_edit"),
    path("rules/<int:pk>/verify/", rules.RequirementVerifyView.as_view(), name="requirement_verify"),
    path("rules/verifications/<int:pk>/correct/", rules.VerificationCorrectView.as_view(), name="ruleverification_correct"),
    path("rules/classes/", rules.MaterialClassListView.as_view(), name="materialclass_list"),
    path("rules/classes/new/", rules.MaterialClassFormView.as_view(), name="materialclass_add"),
    path("rules/classes/<int:pk>/", rules.MaterialClassDetailView.as_view(), name="materialclass_detail"),
    path("rules/classes/<int:pk>/change/", rules.MaterialClassFormView.as_view(), name="materialclass_edit"),
]
