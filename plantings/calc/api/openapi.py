"""The OpenAPI 3.1 description, made from the declarations that the answers are made from.

Source
------
OpenAPI Specification 3.1.1; problem details: RFC 9457; bearer tokens: RFC 6750; 429: RFC 6585.
"""

from collections.abc import Iterable
from typing import NamedTuple

from plantings.calc.api.fields import NUMBER, SCHEMAS, Field, Shape

PROBLEM_TYPE = "application/problem+json"
# what may go wrong, by status: the same for every address
PROBLEMS = {
    "400": "A parameter cannot be read. `errors` says which, what is wrong with it, and what to do.",
    "401": "No token was sent, or it does not work.",
    "403": "The person of the token may not read this.",
    "404": "There is nothing at this address.",
    "405": "Another method than GET. This interface is read-only.",
    "429": "Too many requests. `Retry-After` says how many seconds to wait.",
    "503": "Mastbook cannot answer just now, such as during a restore. Try again later.",
}
_PROBLEM_SCHEMA = {
    "type": "object",
    "description": "What went wrong (RFC 9457).",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"type": "string", "description": "Always about:blank: the status says the kind."},
        "title": {"type": "string", "description": "The kind of problem in words."},
        "status": {"type": "integer", "description": "The HTTP status."},
        "detail": {"type": "string", "description": "What is wrong and what to do."},
        "errors": {
            "type": "array",
            "description": "Each parameter that is wrong.",
            "items": {
                "type": "object",
                "required": ["parameter", "detail"],
                "properties": {
                    "parameter": {"type": "string", "description": "Name of the parameter."},
                    "detail": {"type": "string", "description": "What is wrong with it, and what to do."},
                },
            },
        },
    },
}


class Parameter(NamedTuple):
    """A parameter of an address: its name, the schema of its value, and what it does; `is_part` says that it is a part of the path."""

    name: str
    schema: dict
    meaning: str
    is_part: bool = False


class Endpoint(NamedTuple):
    """One address: what it answers, with which parameters; and what it answers with 202 while its figures are being worked out."""

    path: str
    name: str
    summary: str
    parameters: tuple[Parameter, ...]
    shape: Shape
    later: Shape | None = None


def openapi(endpoints: Iterable[Endpoint], version: str, server: str) -> dict:
    """The description of all addresses as the value of a JSON document.

    Parameters
    ----------
    endpoints : iterable of Endpoint
    version : str
        Of the interface.
    server : str
        Address that the paths are below.
    """
    schemas: dict[str, dict] = {"Problem": _PROBLEM_SCHEMA}
    paths = {endpoint.path: {"get": _operation(endpoint, schemas)} for endpoint in endpoints}
    return {
        "openapi": "3.1.1",
        "info": {
            "title": "Mastbook, results to compute with elsewhere",
            "version": version,
            "description": "Read-only. Each answer holds what the person of the token may see, and the figures of the pages of Results. "
            "A value that is missing is null; `note` fields say why.",
        },
        "servers": [{"url": server}],
        "security": [{"token": []}],
        "paths": paths,
        "components": {
            "securitySchemes": {"token": {"type": "http", "scheme": "bearer", "description": "A programme lead issues tokens."}},
            "schemas": schemas,
            "responses": {
                f"Problem{status}": {
                    "description": words,
                    "content": {PROBLEM_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
                }
                for status, words in PROBLEMS.items()
            },
        },
    }


def _operation(endpoint, schemas):
    answers = {"200": _answer(endpoint.shape, schemas)} | ({"202": _answer(endpoint.later, schemas)} if endpoint.later else {})
    return {
        "operationId": endpoint.name,
        "summary": endpoint.summary,
        "parameters": [
            {
                "name": one.name,
                "in": "path" if one.is_part else "query",
                "required": one.is_part,
                "description": one.meaning,
                "schema": one.schema,
            }
            for one in endpoint.parameters
        ],
        "responses": answers | {status: {"$ref": f"#/components/responses/Problem{status}"} for status in PROBLEMS},
    }


def _answer(shape, schemas):
    _add_schema(shape, schemas)
    return {
        "description": shape.meaning,
        "content": {"application/json": {"schema": {"$ref": f"#/components/schemas/{shape.name}"}}},
    }


def _add_schema(shape: Shape, schemas: dict) -> None:
    if shape.name in schemas:
        return
    schemas[shape.name] = {}  # its place, before those of its parts
    schemas[shape.name] = {
        "type": "object",
        "description": shape.meaning,
        "required": [field.name for field in shape.fields],
        "properties": {field.name: _field_schema(field, schemas) for field in shape.fields},
        "additionalProperties": False,
    }


def _field_schema(field: Field, schemas: dict) -> dict:
    words = f"{field.meaning} Unit: {field.measured_in}." if field.measured_in else field.meaning
    if isinstance(field.type, Shape):
        _add_schema(field.type, schemas)
        one: dict = {"$ref": f"#/components/schemas/{field.type.name}"}
        if field.many:
            return {"description": words, "type": "array", "items": one}
        return {"description": words, "anyOf": [one, {"type": "null"}]} if field.null else one | {"description": words}
    schema = dict(SCHEMAS[field.type])
    null = (field.null or field.type == NUMBER) and not field.many
    if field.codes:
        schema["enum"] = [*field.codes, *([None] if null else ())]
    if null:
        schema["type"] = [schema["type"], "null"]
    return {"description": words} | ({"type": "array", "items": schema} if field.many else schema)
