from django.urls import path

from register.web.spares import movements, planning, views

app_name = "spares"
urlpatterns = [
    path("", views.listing, name="list"),
    path("short.txt", views.short, name="short"),
    path("list.pdf", views.pdf, name="pdf"),
    path("order.pdf", views.orders_pdf, name="orders_pdf"),
    path("order.xlsx", views.orders_xlsx, name="orders_xlsx"),
    path("budget/", planning.budget, name="budget"),
    path("one-failure/", planning.one_failure, name="one_failure"),
    path("kit/", planning.kit, name="kit"),
    path("kit.pdf", planning.kit_pdf, name="kit_pdf"),
    path("kit.xlsx", planning.kit_xlsx, name="kit_xlsx"),
    path("movements/", movements.listing, name="movements"),
    path("planned/<int:pk>/close/", movements.close_planned, name="close_planned"),
    path("<int:pk>/", views.detail, name="detail"),
    path("<int:pk>/move/", movements.move, name="move"),
    path("<int:pk>/plan/", movements.plan, name="plan"),
]
