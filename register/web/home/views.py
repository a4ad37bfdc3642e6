from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from register.services.permissions import May
from register.web.navigation import destinations_for
from register.web.permissions import permitted


@permitted(May.READ)
def home(request: HttpRequest) -> HttpResponse:
    return render(request, "home/home.html", {"destinations": destinations_for(request.user)})
