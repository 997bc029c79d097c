"""Pages of the house and its rooms; looking, and editing."""

from remodel.house import urls_rooms

urlpatterns = [*urls_rooms.urlpatterns]
