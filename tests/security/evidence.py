"""What stands behind each risk of the OWASP API Security Top 10 (2023) and each item of ASVS 5.0 that applies.

Tests in `asvs_5` name their items in the first line of their docstring. What is proved elsewhere in the suite is
listed here with its tests, and what is not met, or only in part, with the reason.
"""

import ast
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from tests.processes import ROOT

FOLDER: Final = Path("tests/security")
OWASP: Final = FOLDER / "owasp_api_2023"
ASVS: Final = FOLDER / "asvs_5"

_MATRIX: Final = "tests/architecture/test_endpoint_matrix.py"
_RLS: Final = "tests/coaching/tenancy/test_row_security.py"
_POLICY: Final = "tests/coaching/test_policy.py"
_SIGN_IN: Final = "tests/coaching/api/test_sign_in_attempts.py"
_SESSIONS: Final = "tests/coaching/api/test_sessions.py"
_SECOND: Final = "tests/coaching/api/test_second_factor.py"
_RESETS: Final = "tests/coaching/api/test_password_resets.py"
_PASSWORDS: Final = "tests/coaching/api/test_passwords.py"
_INVITATIONS: Final = "tests/coaching/api/test_invitations.py"
_KEYS: Final = "tests/coaching/api/test_api_keys.py"
_TRAIL: Final = "tests/coaching/api/test_audit_entries.py"
_REFUSED: Final = "tests/coaching/api/test_refused_sign_ins.py"
_REFUSALS: Final = "tests/coaching/http/test_refusals.py"
_LIMITS: Final = "tests/coaching/http/test_rate_limits.py"
_BOUNDS: Final = "tests/coaching/http/test_bounds.py"
_CORS: Final = "tests/coaching/http/test_cross_origin.py"
_HEADERS: Final = "tests/coaching/http/test_security_headers.py"
_LINES: Final = "tests/coaching/test_log_lines.py"
_SEALED: Final = "tests/coaching/test_sealed_secrets.py"
_CODES: Final = "tests/coaching/test_one_time_codes.py"
_RETENTION: Final = "tests/coaching/api/test_retention.py"
_DUMP: Final = "tests/coaching/erasure/test_dump_search.py"
_CELLS: Final = "tests/coaching/exports/test_cells.py"
_EXPORTS: Final = "tests/coaching/exports/test_exports.py"
_EMAIL: Final = "tests/coaching/delivery/test_email.py"
_TABLES: Final = "tests/logs/imports/test_tables.py"
_BATCHES: Final = "tests/logs/api/test_log_batches.py"
_FUZZ: Final = "tests/security/test_filter_fuzz.py"
_SCHEMA: Final = "tests/security/test_schema_conformance.py"


def _api(number: int) -> str:
    return next(str(path) for path in sorted(OWASP_FILES) if f"test_api{number:02}_" in path.name)


OWASP_FILES: Final = tuple(path.relative_to(ROOT) for path in sorted((ROOT / OWASP).glob("test_api*.py")))

# Every item of `reliability.md`, by chapter, level 2 and the few of level 3 that are taken on.
ITEMS: Final[Mapping[str, tuple[str, ...]]] = {
    "V1 Encoding and sanitization": ("1.2.4", "1.2.10", "1.3.6", "1.3.7", "1.3.11", "1.3.12"),
    "V2 Validation and business logic": ("2.2.1", "2.2.2", "2.2.3", "2.3.1", "2.3.3", "2.4.1"),
    "V3 Web frontend security": ("3.4.1", "3.4.2", "3.4.3", "3.4.4", "3.4.5", "3.4.6"),
    "V4 API and web service": ("4.1.1", "4.1.2", "4.1.3", "4.1.4"),
    "V5 File handling": ("5.2.1", "5.4.1", "5.4.2"),
    "V6 Authentication": (
        "6.1.1", *(f"6.2.{number}" for number in range(1, 13)), "6.3.1", "6.3.8", "6.4.1", "6.4.3", "6.5.2",
    ),
    "V7 Session management": ("7.2.1", "7.2.2", "7.2.3", "7.2.4", "7.3.1", "7.3.2", "7.4.1", "7.4.2", "7.4.3"),
    "V8 Authorization": ("8.1.1", "8.1.2", "8.2.1", "8.2.2", "8.2.3", "8.3.1", "8.3.2", "8.4.1"),
    "V11 Cryptography": ("11.2.4", "11.3.1", "11.3.2", "11.3.3", "11.4.1", "11.4.2", "11.5.1"),
    "V12 Secure communication": ("12.2.1", "12.3.2"),
    "V13 Configuration": ("13.1.2", "13.1.3", "13.2.2", "13.4.2", "13.4.4", "13.4.5", "13.4.6"),
    "V14 Data protection": ("14.1.1", "14.1.2", "14.2.1", "14.2.4", "14.2.7", "14.3.2"),
    "V15 Secure coding and architecture": (
        "15.1.2", "15.1.3", "15.2.2", "15.3.1", "15.3.2", "15.3.3", "15.3.4", "15.3.7", "15.4.2",
    ),
    "V16 Security logging and error handling": (
        "16.1.1", "16.2.1", "16.2.2", "16.2.3", "16.2.4", "16.2.5", "16.3.1", "16.3.2", "16.3.3", "16.3.4", "16.4.1",
        "16.5.1", "16.5.2", "16.5.3", "16.5.4",
    ),
}  # fmt: skip

ELSEWHERE: Final[Mapping[str, tuple[str, ...]]] = {
    "1.2.10": (
        f"{_CELLS}::test_a_text_that_would_be_a_formula_begins_with_an_apostrophe",
        f"{_CELLS}::test_numbers_stay_numbers_negative_ones_too",
        f"{_CELLS}::test_sheets_are_read_back_by_csv_and_taken_as_text_by_a_spreadsheet",
    ),
    "1.3.6": (
        f"{_api(7)}::test_no_operation_takes_an_address",
        f"{_api(7)}::test_no_code_of_the_service_imports_what_fetches",
    ),
    "1.3.11": (
        f"{_EMAIL}::test_a_name_with_a_comma_stays_one_address",
        f"{_EMAIL}::test_a_line_break_in_a_subject_makes_no_header",
        f"{_EMAIL}::test_lines_that_begin_with_a_dot_arrive_whole",
    ),
    "1.3.12": (f"{_api(4)}::test_the_longest_texts_that_are_taken_are_read_within_bounds",),
    "2.2.1": (
        f"{_SCHEMA}::test_every_answer_is_one_that_the_schema_documents",
        f"{_api(10)}::test_a_set_that_no_lifter_did_is_refused_at_its_place",
    ),
    "2.2.2": (
        f"{_FUZZ}::test_every_filter_of_every_operation_stands_hostile_values",
        f"{_api(3)}::test_no_operation_takes_a_field_that_it_only_shows_or_only_stores",
    ),
    "2.2.3": (f"{_BATCHES}::test_a_set_that_says_what_cannot_be_is_refused_with_its_place",),
    "2.3.3": (
        f"{_REFUSALS}::test_what_a_refused_request_wrote_is_rolled_back",
        f"{_BATCHES}::test_a_strict_batch_is_taken_whole_or_not_at_all",
    ),
    "2.4.1": (
        f"{_api(6)}::test_guessing_a_password_ends",
        f"{_LIMITS}::test_of_many_at_once_exactly_the_quota_is_admitted",
        f"{_LIMITS}::test_a_quota_that_is_used_up_is_refused_with_the_registered_problem",
    ),
    "3.4.1": (f"{_HEADERS}::test_over_tls_a_browser_is_told_to_stay_there",),
    "3.4.2": (
        f"{_CORS}::test_without_a_list_no_page_may_read_anything",
        f"{_CORS}::test_a_listed_page_may_read_its_own_business_only",
        f"{_CORS}::test_no_answer_ever_takes_credentials_along_or_opens_to_all",
    ),
    "3.4.4": (f"{_api(8)}::test_every_operation_answers_with_the_headers_and_is_never_cached",),
    "3.4.5": (f"{_api(8)}::test_every_page_and_every_refusal_carries_the_headers",),
    "3.4.6": (f"{_api(8)}::test_every_page_and_every_refusal_carries_the_headers",),
    "4.1.3": (f"{_SIGN_IN}::test_a_forwarded_address_is_believed_from_a_proxy_only_and_then_its_last_hop",),
    "4.1.4": (
        f"{_api(9)}::test_a_method_that_a_path_does_not_document_is_405_and_changes_nothing",
        f"{_api(8)}::test_methods_of_no_operation_are_refused",
    ),
    "5.2.1": (
        f"{_api(4)}::test_a_body_too_large_is_refused_before_it_is_parsed",
        f"{_TABLES}::test_an_archive_that_unpacks_too_large_is_refused_before_it_is_read",
        f"{_TABLES}::test_one_long_text_named_from_every_cell_is_refused",
    ),
    "5.4.1": (f"{_EXPORTS}::test_a_file_is_private_named_and_kept_for_a_day",),
    "6.3.1": (
        f"{_SIGN_IN}::test_after_five_wrong_passwords_even_the_right_one_waits_and_then_works",
        f"{_SIGN_IN}::test_an_address_that_tries_many_accounts_is_slowed_down",
        f"{_SIGN_IN}::test_a_stranger_with_many_addresses_is_slowed_down_and_the_owner_is_not_locked_out",
    ),
    "6.3.8": (
        f"{_SESSIONS}::test_a_wrong_address_and_a_wrong_password_are_answered_alike",
        f"{_SESSIONS}::test_an_unknown_address_costs_a_password_check_too",
        f"{_RESETS}::test_known_and_unknown_addresses_are_answered_alike_by_the_same_statements",
    ),
    "6.4.1": (
        f"{_INVITATIONS}::test_a_link_works_once",
        f"{_INVITATIONS}::test_links_that_are_forged_foreign_or_too_old_are_refused_alike",
        f"{_PASSWORDS}::test_a_first_password_that_another_thought_up_stays_provisional_until_a_link_sets_one",
    ),
    "6.4.3": (
        f"{_RESETS}::test_a_new_password_leaves_the_second_factor_standing",
        f"{_RESETS}::test_links_that_are_forged_foreign_or_too_old_are_refused_alike",
    ),
    "6.5.2": (
        "tests/coaching/test_one_time_codes.py::test_recovery_codes_are_ten_and_their_digests_are_of_one_person",
    ),
    "7.3.1": (f"{_SESSIONS}::test_a_session_that_is_not_used_for_twelve_hours_has_ended",),
    "7.3.2": (f"{_SESSIONS}::test_a_session_ends_after_fourteen_days_however_much_it_is_used",),
    "7.4.1": (
        f"{_SESSIONS}::test_a_session_ended_is_refused_at_once",
        f"{_SESSIONS}::test_a_use_does_not_revive_a_session_that_was_ended_meanwhile",
    ),
    "7.4.2": (
        f"{_SESSIONS}::test_an_account_that_is_deactivated_and_a_membership_that_was_left_are_refused_at_once",
        f"{_PASSWORDS}::test_the_sessions_of_a_closed_account_are_refused_at_once",
    ),
    "7.4.3": (
        f"{_PASSWORDS}::test_a_changed_password_ends_every_other_session_in_every_business",
        f"{_SECOND}::test_turning_it_on_and_off_ends_the_other_sessions",
    ),
    "8.2.1": (
        f"{_POLICY}::test_each_operation_is_for_its_roles_and_scopes_and_for_nobody_else",
        f"{_api(5)}::test_a_key_of_one_scope_calls_what_the_table_says_and_no_more",
    ),
    "8.2.2": (
        f"{_MATRIX}::test_a_caller_finds_nothing_of_a_client_whom_they_may_not_see",
        f"{_api(1)}::test_an_own_client_in_the_path_opens_no_object_of_another_client",
    ),
    "8.2.3": (
        f"{_api(3)}::test_no_answer_shows_a_field_that_is_not_documented_or_is_a_secret",
        f"{_api(3)}::test_nobody_makes_more_of_themselves_than_they_are",
    ),
    "8.4.1": (
        f"{_MATRIX}::test_a_neighbours_owner_finds_nothing_at_real_ids_and_changes_nothing",
        f"{_MATRIX}::test_without_row_security_the_application_alone_keeps_the_neighbour_out",
        f"{_RLS}::test_every_table_of_a_business_is_behind_forced_row_security_by_one_equality",
    ),
    "11.3.3": (
        f"{_SEALED}::test_a_seal_that_was_tampered_with_opens_nothing",
        f"{_SEALED}::test_what_is_sealed_for_one_purpose_opens_for_no_other",
    ),
    "13.4.2": (f"{_api(8)}::test_debugging_is_off_and_no_setting_turns_it_on",),
    "13.4.4": (f"{_api(8)}::test_methods_of_no_operation_are_refused",),
    "14.2.4": (
        f"{_LINES}::test_secrets_and_addresses_are_blanked",
        f"{_SEALED}::test_what_is_sealed_is_read_back_and_never_stored_twice_alike",
        f"{_KEYS}::test_no_secret_stands_in_the_database",
        f"{_TRAIL}::test_values_of_settings_and_roles_are_kept_and_nothing_that_says_anything_of_a_person",
    ),
    "14.2.7": (
        f"{_RETENTION}::test_held_items_files_batches_and_what_mails_said_go_after_their_days",
        f"{_RETENTION}::test_the_logs_of_a_client_who_ended_go_after_their_months_and_plans_and_others_stay",
        f"{_DUMP}::test_nothing_of_an_erased_client_is_found_in_the_dump_in_redis_or_in_the_logs",
    ),
    "15.2.2": (
        "tests/faults/test_database_limits.py::test_the_services_role_has_its_limits_and_is_refused_without",
        f"{_LIMITS}::test_what_costs_the_service_most_counts_apart",
        "tests/programs/cards/test_card_sheet.py::test_typesetting_that_takes_too_long_is_ended",
    ),
    "15.3.1": (f"{_api(3)}::test_no_answer_shows_a_field_that_is_not_documented_or_is_a_secret",),
    "15.3.2": (f"{_api(7)}::test_no_code_of_the_service_imports_what_fetches",),
    "15.3.3": (
        f"{_api(3)}::test_no_operation_takes_a_field_that_it_only_shows_or_only_stores",
        f"{_api(3)}::test_no_item_of_a_batch_takes_a_field_that_is_the_services",
    ),
    "15.3.4": (f"{_SIGN_IN}::test_a_forwarded_address_is_believed_from_a_proxy_only_and_then_its_last_hop",),
    "15.4.2": (
        "tests/coaching/http/test_etags.py::test_of_two_changes_from_one_version_the_second_is_refused",
        "tests/coaching/api/test_coaches.py::test_two_owners_cannot_demote_each_other_at_once",
        f"{_INVITATIONS}::test_of_two_who_accept_at_once_one_wins",
        f"{_SECOND}::test_of_many_who_bring_the_same_code_at_once_one_is_let_in",
    ),
    "16.2.5": (
        f"{_LINES}::test_secrets_and_addresses_are_blanked",
        f"{_TRAIL}::test_values_of_settings_and_roles_are_kept_and_nothing_that_says_anything_of_a_person",
    ),
    "16.3.1": (
        f"{_TRAIL}::test_signing_in_and_out_is_written_down",
        f"{_REFUSED}::test_a_wrong_password_is_told_with_address_and_request_and_without_what_was_typed",
    ),
    "16.3.4": (f"{_REFUSALS}::test_a_fault_of_ours_is_a_problem_without_its_stack",),
    "16.4.1": (f"{_LINES}::test_nobody_writes_a_line_of_their_own",),
    "16.5.1": (
        f"{_REFUSALS}::test_a_fault_of_ours_is_a_problem_without_its_stack",
        "tests/security/test_header_fuzz.py::test_every_header_stands_hostile_values",
    ),
    "16.5.2": (
        f"{_REFUSALS}::test_a_database_that_is_away_is_503_with_a_time_to_come_back",
        "tests/faults/test_redis.py::test_without_redis_requests_are_served_at_once_and_uncounted",
        "tests/faults/test_redis.py::test_sign_in_stays_limited_while_redis_is_frozen",
    ),
    "16.5.3": (f"{_REFUSALS}::test_what_a_refused_request_wrote_is_rolled_back",),
    "16.5.4": (f"{_REFUSALS}::test_a_fault_of_ours_is_a_problem_without_its_stack",),
}

UNMET: Final[Mapping[str, str]] = {
    "6.2.4": "In part: 187 of the 20,000 common passwords kept are long enough; patterns of them are refused by rule.",
    "6.2.12": "Not met: a set of breached passwords needs a service or data that is not carried.",
    "16.1.1": "In part: the guide says what is logged, where and how long; nobody can test that an operator does so.",
}
"""Items that are not met, or only in part, each with the reason."""

_NUMBERS: Final = re.compile(r"^((?:\d+\.\d+\.\d+)(?:, \d+\.\d+\.\d+)*) ")


def evidence_of(item: str) -> tuple[str, ...]:
    """Return the tests that stand behind an item."""
    return (*(name for name, items in named_tests() if item in items), *ELSEWHERE.get(item, ()))


def named_tests() -> list[tuple[str, tuple[str, ...]]]:
    """Return each test of `asvs_5` with the items that its docstring names."""
    return [
        (f"{path.relative_to(ROOT)}::{function.name}", _items(ast.get_docstring(function) or ""))
        for path in sorted((ROOT / ASVS).glob("test_*.py"))
        for function in _functions(path)
    ]


def _items(docstring: str) -> tuple[str, ...]:
    found = _NUMBERS.match(docstring)
    return tuple(found[1].split(", ")) if found else ()


def _functions(path: Path) -> Iterator[ast.FunctionDef]:
    for node in ast.parse(path.read_text()).body:
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
            yield node


def risk_of(path: Path) -> tuple[str, str]:
    """Return the number and rule of an OWASP file, from the first line of its docstring."""
    first = (ast.get_docstring(ast.parse((ROOT / path).read_text())) or "").partition("\n\n")[0].replace("\n", " ")
    number, _, rule = first.partition(":2023. ")
    return number, rule


def exists(name: str) -> bool:
    """Say whether a test of that path and name exists."""
    path, _, function = name.partition("::")
    file = ROOT / path
    return (
        file.exists() and re.search(rf"^(    )?def {re.escape(function)}\(", file.read_text(), re.MULTILINE) is not None
    )
