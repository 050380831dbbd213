"""Addresses of identity: evidence, questions, how they were settled."""

from django.urls import path

from registry.views.identity import questions

urlpatterns = [
    path("questions/", questions.QuestionListView.as_view(), name="identityquestion_list"),
    path("questions/<int:pk>/", questions.QuestionDetailView.as_view(), name="identityquestion_detail"),
    path("questions/<int:pk>/settle/", questions.QuestionSettleView.as_view(), name="identityquestion_settle"),
    path("identity/<str:kind>/<int:pk>/question/", questions.QuestionAddView.as_view(), name="identityquestion_add"),
    path("identity/<str:kind>/<int:pk>/evidence/", questions.EvidenceAddView.as_view(), name="identityevidence_add"),
]
