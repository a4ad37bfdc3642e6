from django.contrib.auth.views import LogoutView
from django.urls import path

from register.web.accounts import views

app_name = "accounts"
urlpatterns = [
    path("sign-in/", views.SignIn.as_view(), name="sign-in"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("password/", views.ChangePassword.as_view(), name="password"),
    path("display/", views.display, name="display"),
]
