"""`/exercises`."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from coaching.http.query_parameters import QueryParameter
from coaching.http.schema import page_of
from coaching.http.views import OperationView
from programs.api.serializers.exercises import ExerciseSerializer, show_exercise, show_exercises
from programs.catalogue.vocabulary import Equipment, Muscle, Pattern
from programs.selectors.exercises import get_exercise, list_exercises


class ExercisesView(OperationView):
    """The business's catalogue."""

    operations = {"GET": "exercises.list"}
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


class ExerciseView(OperationView):
    """An exercise."""

    operations = {"GET": "exercises.read"}

    @extend_schema(responses=ExerciseSerializer)
    def get(self, _request: Request, exercise: str) -> Response:
        """Return an exercise, named by its id or key."""
        row = get_exercise(exercise)
        return self.single(show_exercise(row), row.row_version)
