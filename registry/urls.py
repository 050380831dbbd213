from django.contrib.auth import views as auth_views
from django.contrib.auth.decorators import login_not_required
from django.urls import include, path

from registry.views.people import language, sign_in

handler403 = "registry.views.shared.errors.permission_denied"
handler404 = "registry.views.shared.errors.page_not_found"
handler500 = "registry.views.shared.errors.page_failed"
urlpatterns = [
    path("sign-in/", sign_in.SignInView.as_view(), name="login"),
    path("language/", language.LanguageView.as_view(), name="language"),
    path("sign-out/", sign_in.SignOutView.as_view(), name="logout"),
    path("password/", login_not_required(sign_in.PasswordMailView.as_view()), name="password_reset"),
    path("password/sent/", login_not_required(auth_views.PasswordResetDoneView.as_view()), name="password_reset_done"),
    path("password/<uidb64>/<token>/", login_not_required(sign_in.NewPasswordView.as_view()), name="password_reset_confirm"),
    path("password/set/", login_not_required(auth_views.PasswordResetCompleteView.as_view()), name="password_reset_complete"),
    path("", include("registry.routes.audit")),
    path("", include("registry.routes.duties")),
    path("", include("registry.routes.gate")),
    path("", include("registry.routes.identity")),
    path("", include("registry.routes.jobs")),
    path("", include("registry.routes.land")),
    path("", include("registry.routes.lots")),
    path("", include("registry.routes.movements")),
    path("", include("registry.routes.orchard")),
    path("", include("registry.routes.pedigree")),
    path("", include("registry.routes.people")),
    path("", include("registry.routes.permits")),
    path("", include("registry.routes.prints")),
    path("", include("registry.routes.safety")),
    path("", include("plantings.urls")),
]
