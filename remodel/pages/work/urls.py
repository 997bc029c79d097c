"""Pages of the work on rooms."""

from remodel.pages.work import urls_behind, urls_log, urls_next, urls_phases

urlpatterns = [
    *urls_phases.urlpatterns,
    *urls_log.urlpatterns,
    *urls_next.urlpatterns,
    *urls_behind.urlpatterns,
]
