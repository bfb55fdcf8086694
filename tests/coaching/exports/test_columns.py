"""No column of a client's is forgotten: found by looking at the models, and compared with reviewed lists."""

import pytest
from django.apps import apps

from coaching.exports.columns import EVERYWHERE, LEFT_OUT, columns_of
from coaching.exports.sentences import SENTENCES
from coaching.exports.tables import ALSO, NEVER, OF_NOBODY, TEAMS
from coaching.models import Role
from coaching.policy import OPERATIONS
from coaching.tenancy.client_models import client_models
from tests.business_models import BUSINESS_MODELS


def test_each_table_of_a_business_is_a_clients_or_is_said_to_hold_nothing_of_one() -> None:
    reached = {one.model._meta.label for one in client_models()}
    assert reached & OF_NOBODY.keys() == set()
    assert {model._meta.label for model in BUSINESS_MODELS} == reached | OF_NOBODY.keys() | ALSO | NEVER.keys()


def test_each_column_is_exported_or_stands_on_the_list_with_its_reason() -> None:
    for model in BUSINESS_MODELS:
        left = {field.name for field in model._meta.concrete_fields if field.attname not in columns_of(model)}
        named = {name.rpartition(".")[2] for name in LEFT_OUT if name.startswith(f"{model._meta.label}.")}
        assert left <= EVERYWHERE.keys() | named, model


def test_the_lists_name_what_is_there() -> None:
    labels = {model._meta.label for model in apps.get_models()}
    assert NEVER.keys() | TEAMS.keys() | OF_NOBODY.keys() | ALSO <= labels
    for name in LEFT_OUT:
        label, _, column = name.rpartition(".")
        assert column in {field.name for field in apps.get_model(label)._meta.concrete_fields}


@pytest.mark.parametrize("operation", sorted({operation for operation in TEAMS.values() if operation}))
def test_what_a_clients_own_export_leaves_out_is_what_no_client_may_read(operation: str) -> None:
    assert Role.CLIENT not in OPERATIONS[operation].roles


def test_each_file_of_an_archive_is_told_of_in_a_sentence() -> None:
    exported = {model._meta.db_table for model in BUSINESS_MODELS if model._meta.label not in NEVER}
    assert SENTENCES.keys() == exported | {"coaching_business", "coaching_person"}
