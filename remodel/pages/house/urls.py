"""Pages of the house and its rooms; looking, and editing."""

from remodel.pages.house import urls_rooms
from remodel.pages.house.views_edit import urls as urls_edit

urlpatterns = [*urls_edit.urlpatterns, *urls_rooms.urlpatterns]
