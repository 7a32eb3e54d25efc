"""`narrate schema`: what the records look like."""

import click


@click.command("schema", short_help="Print the JSON Schema of a record.")
@click.argument("name", required=False, default="walkaround")
def schema_command(name: str) -> None:
    """Print the JSON Schema of a record: walkaround (the default), recording, estimate, day or case."""
    import json

    from narrate.cli.printing import write_record
    from narrate.export.json_file import schema

    write_record(json.dumps(schema(name), indent=2), "-")
