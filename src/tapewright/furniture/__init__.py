'''What every room is furnished with: documents, settings, reports, commands, pages, plots, files written whole.

A room says once, in two files, what it finds and what it may be told; all else comes from them:

    # gap/document.py: what the room says
    class Contact(Document, frozen=True, kw_only=True):
        """One contact as it was gauged."""

        row_label: ClassVar[str] = "contact {contact}"           # how a record of a list is called
        contact: str
        gap_mm: Annotated[Reading, figure("gap", "mm", "Open, at the middle of the points.")]
        late_ms: Annotated[Reading, figure("closes late", "ms", signed=True, marks=("compared",))]

    class Gaps(Document, frozen=True, kw_only=True):
        """The gaps of a transmitter: `tapewright gap read FILE --json`."""

        format: Literal["tapewright/gaps/1"] = "tapewright/gaps/1"
        contacts: tuple[Contact, ...]
        verdicts: tuple[Verdict, ...]

    # gap/settings.py: what it may be told
    @dataclass(frozen=True, kw_only=True)
    class GapSettings(Settings):
        nominal: float | None = setting(Number(10, 400, "Bd"), "Speed it should have", None, unset="auto")
        idle: str = setting(Choice(("auto", "high", "low")), "Level of the line at rest (mark)", "auto")

    # gap/command.py
    @click.command()
    @click.argument("file", type=click.Path(path_type=Path))
    @click_options(GapSettings)                        # --nominal, --idle          (options.py)
    @json_option
    def read(file: Path, settings: GapSettings, as_json: bool) -> int:
        gaps = measure(file, settings)
        click.echo(encode_json(gaps) if as_json else gaps_text(gaps))
        return exit_code(gaps.verdicts)

    # gap/words.py: a report is sections of the document's figures
    def gaps_text(gaps: Gaps) -> str:
        return as_text([Section("Contacts", [table(gaps.contacts)]), Section("Verdicts", [Verdicts(gaps.verdicts)])])

    # elsewhere
    json_schema(Gaps)                                  # docs/reference/schemas, by scripts/generate_schemas.py
    decode(Gaps, content, "gaps.json")                 # read back, or refused with the place
    form_fields(GapSettings)                           # the page's form; from_form(GapSettings, fields) reads it
    from_keywords(GapSettings, nominal=45.45)          # the public API
    to_steps(settings), from_steps(GapSettings, kept)  # what the book keeps, so that it can measure again
    figures(gaps, mark="compared")                     # path, label, unit, value: comparison, proof, print
'''
