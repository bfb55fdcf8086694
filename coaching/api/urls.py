"""The API paths of `coaching`, under /api/v1/."""

from coaching.api.views.api_keys import ApiKeyRotationView, ApiKeysView, ApiKeyView
from coaching.api.views.audit_entries import AuditEntriesView
from coaching.api.views.businesses import BusinessView
from coaching.api.views.check_in_forms import CheckInFormsView, CheckInFormView
from coaching.api.views.clients import ClientAccountView, ClientsView, ClientView
from coaching.api.views.coaches import CoachesView, CoachView
from coaching.api.views.consents import ConsentsView, ConsentTextsView, ConsentWithdrawalView
from coaching.api.views.erasures import ClientErasureView, ErasuresView
from coaching.api.views.invitations import (
    InvitationAcceptanceView,
    InvitationResendView,
    InvitationsView,
    InvitationView,
)
from coaching.api.views.operations import ExportsView, LongOperationView, OperationResultView
from coaching.api.views.passwords import OwnPasswordView, PasswordResetConfirmationView, PasswordResetsView
from coaching.api.views.places import PlacesView, PlaceView
from coaching.api.views.retention import RetentionPolicyView
from coaching.api.views.second_factors import (
    RecoveryCodesView,
    SecondFactorConfirmationView,
    SecondFactorEndView,
    SecondFactorView,
)
from coaching.api.views.sessions import MeView, SessionRotationView, SessionsView, SessionView
from coaching.http.routes import route

urlpatterns = [
    route("sessions", SessionsView),
    route("sessions/rotate", SessionRotationView),
    route("sessions/<uuid:session_id>", SessionView),
    route("me/second-factor", SecondFactorView),
    route("me/second-factor/confirm", SecondFactorConfirmationView),
    route("me/second-factor/turn-off", SecondFactorEndView),
    route("me/second-factor/recovery-codes", RecoveryCodesView),
    route("password-resets", PasswordResetsView),
    route("password-resets/confirm", PasswordResetConfirmationView),
    route("invitations", InvitationsView),
    route("invitations/accept", InvitationAcceptanceView),
    route("invitations/<uuid:invitation_id>", InvitationView),
    route("invitations/<uuid:invitation_id>/resend", InvitationResendView),
    route("me", MeView),
    route("me/password", OwnPasswordView),
    route("business", BusinessView),
    route("coaches", CoachesView),
    route("coaches/<uuid:coach_id>", CoachView),
    route("clients", ClientsView),
    route("clients/<uuid:client_id>", ClientView),
    route("clients/<uuid:client_id>/account", ClientAccountView),
    route("clients/<uuid:client_id>/consents", ConsentsView),
    route("clients/<uuid:client_id>/consents/<uuid:consent_id>/withdraw", ConsentWithdrawalView),
    route("clients/<uuid:client_id>/erasure", ClientErasureView),
    route("consent-texts", ConsentTextsView),
    route("erasures", ErasuresView),
    route("exports", ExportsView),
    route("operations/<uuid:operation_id>", LongOperationView),
    route("operations/<uuid:operation_id>/result", OperationResultView),
    route("retention-policy", RetentionPolicyView),
    route("clients/<uuid:client_id>/places", PlacesView),
    route("clients/<uuid:client_id>/places/<uuid:place_id>", PlaceView),
    route("check-in-forms", CheckInFormsView),
    route("check-in-forms/<uuid:form_id>", CheckInFormView),
    route("api-keys", ApiKeysView),
    route("api-keys/<uuid:key_id>", ApiKeyView),
    route("api-keys/<uuid:key_id>/rotate", ApiKeyRotationView),
    route("audit-entries", AuditEntriesView),
]
