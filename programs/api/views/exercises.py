"""`/exercises`."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from programs.actions.exercise_merges import merge_exercise
from programs.actions.exercises import change_exercise, create_exercise
from programs.api.serializers.exercises import (
    ExerciseChangeSerializer,
    ExerciseInSerializer,
    ExerciseSerializer,
    MergeSerializer,
    show_exercise,
    show_exercises,
)
from programs.catalogue.vocabulary import Equipment, Muscle, Pattern
from programs.selectors.exercises import get_exercise, list_exercises


class ExercisesView(OperationView):
    """The business's catalogue."""

    operations = {"GET": "exercises.list", "POST": "exercises.create"}
    lists = frozenset({"GET"})
    query_parameters = {
        "GET": (
            QueryParameter("pattern", "Only this movement pattern.", choices=tuple(Pattern)),
            QueryParameter("muscle", "Only with this muscle, primary or secondary.", choices=tuple(Muscle)),
            QueryParameter("equipment", "Only what needs this.", choices=tuple(Equipment)),
            QueryParameter("search", "Words that all stand in the name, an alias or the key.", maximum=100),
        )
    }

    @extend_schema(responses=page_of(ExerciseSerializer))
    def get(self, _request: Request) -> Response:
        """List exercises by name."""
        rows = list_exercises(
            pattern=self.query["pattern"] or "",
            muscle=self.query["muscle"] or "",
            equipment=self.query["equipment"] or "",
            search=self.query["search"] or "",
        )
        return self.page(rows, order=("name", "id"), show=show_exercises)

    @extend_schema(request=ExerciseInSerializer, responses={201: ExerciseSerializer})
    def post(self, _request: Request) -> Response:
        """Add an exercise of the business's own; every fault of sense comes at its place."""
        row = create_exercise(document=self.document())
        return self.single(show_exercise(row), row.row_version, status=201, location=f"/api/v1/exercises/{row.key}")


class ExerciseView(OperationView):
    """An exercise."""

    operations = {"GET": "exercises.read", "PATCH": "exercises.update"}

    @extend_schema(responses=ExerciseSerializer)
    def get(self, _request: Request, exercise: str) -> Response:
        """Return an exercise by its id or key; a merged one answers with what it was merged into."""
        row = get_exercise(exercise)
        return self.single(show_exercise(row), row.row_version)

    @extend_schema(request=ExerciseChangeSerializer, responses=ExerciseSerializer)
    def patch(self, _request: Request, exercise: str) -> Response:
        """Say otherwise of it; a shared one is the business's own from then on. Sessions to come follow."""
        row = change_exercise(exercise=exercise, versions=self.versions(), changes=self.document(), now=timezone.now())
        return self.single(show_exercise(row), row.row_version)


class MergeView(OperationView):
    """Merging duplicates."""

    operations = {"POST": "exercises.merge"}

    @extend_schema(request=MergeSerializer, responses=ExerciseSerializer)
    def post(self, _request: Request, exercise: str) -> Response:
        """Merge it into another, which is returned: logs, names, references and plans go there, and none is lost."""
        body = self.body(MergeSerializer)
        row = merge_exercise(exercise=exercise, into=body["into"], now=timezone.now())
        return self.single(show_exercise(row), row.row_version)
