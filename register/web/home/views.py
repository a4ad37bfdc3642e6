from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from register.web.navigation import destinations_for


def home(request: HttpRequest) -> HttpResponse:
    return render(request, "home/home.html", {"destinations": destinations_for(request.user)})
