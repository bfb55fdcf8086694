"""The API paths of `coaching`, under /api/v1/."""

from coaching.api.views.api_keys import ApiKeysView, ApiKeyView
from coaching.api.views.audit_entries import AuditEntriesView
from coaching.api.views.businesses import BusinessView
from coaching.api.views.check_in_forms import CheckInFormsView, CheckInFormView
from coaching.api.views.clients import ClientsView, ClientView
from coaching.api.views.coaches import CoachesView, CoachView
from coaching.api.views.places import PlacesView, PlaceView
from coaching.api.views.sessions import MeView, SessionsView, SessionView
from coaching.http.routes import route

urlpatterns = [
    route("sessions", SessionsView),
    route("sessions/<uuid:session_id>", SessionView),
    route("me", MeView),
    route("business", BusinessView),
    route("coaches", CoachesView),
    route("coaches/<uuid:coach_id>", CoachView),
    route("clients", ClientsView),
    route("clients/<uuid:client_id>", ClientView),
    route("clients/<uuid:client_id>/places", PlacesView),
    route("clients/<uuid:client_id>/places/<uuid:place_id>", PlaceView),
    route("check-in-forms", CheckInFormsView),
    route("check-in-forms/<uuid:form_id>", CheckInFormView),
    route("api-keys", ApiKeysView),
    route("api-keys/<uuid:key_id>", ApiKeyView),
    route("audit-entries", AuditEntriesView),
]
