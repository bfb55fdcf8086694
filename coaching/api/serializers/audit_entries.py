"""An entry of the trail, as shown."""

from rest_framework import serializers

from coaching.models.audit import ActorKind


class AuditEntrySerializer(serializers.Serializer[object]):
    """Something that was done: ids and names of fields; values of settings, roles and scopes only."""

    id = serializers.UUIDField()
    at = serializers.DateTimeField()
    operation = serializers.CharField(help_text="As in `operations` of GET /me, or what operator or service did.")
    actor_kind = serializers.ChoiceField(choices=ActorKind.choices)
    actor_id = serializers.UUIDField(allow_null=True, help_text="The coach, client membership or API key that acted.")
    credential_id = serializers.UUIDField(allow_null=True, help_text="The session or API key that was used.")
    address = serializers.IPAddressField(allow_null=True)
    request_id = serializers.CharField(help_text="`X-Request-Id` of the answer, as in the service's logs.")
    object_id = serializers.CharField(help_text="The object named in the path, or made; empty for many at once.")
    fields = serializers.ListField(child=serializers.CharField(), help_text="Names of the fields sent.")  # type: ignore[assignment]  # DRF's own property of that name
    values = serializers.JSONField(help_text="Values of settings, roles and scopes; never a client's own.")
