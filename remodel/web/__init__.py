"""The look and the machinery of every page: base templates, forms, tags, one stylesheet, a few
small scripts.

A page in twenty lines
----------------------

The view fetches the row, makes a form and says what writes; `edit` (`remodel.pages.editing`) does
the rest:

    class OpeningForm(HouseForm):  # remodel.web.forms
        wall = forms.ChoiceField(widget=forms.RadioSelect)
        width = LengthField(label="Width of the rough opening", least=INCH_NM, most=12 * FOOT_NM)
        price = MoneyField(required=False)
        count = CountField(label="How many", least=1, most=20)

    @require_http_methods(["GET", "POST"])
    def opening_add(request, room_id):
        room = room_for(request.person, room_id, write=True)
        form = OpeningForm(posted(request), units=room.house.units)
        return edit(
            request,
            form,
            "house/opening_add.html",
            {"house": room.house, "room": room},
            write=lambda by: things.opening_add(by=by, room=room, **form.values),
            then=lambda opening: go(request, "room-detail", room.pk),
        )

    {# templates/house/opening_add.html #}
    {% extends "base.html" %}
    {% load halfbay partials %}
    {% block title %}Add an opening to {{ room.name }}{% endblock %}
    {% block back %}
      <p class="back"><a href="{% url 'room-detail' room.pk %}">{{ room.name }}</a></p>
    {% endblock %}
    {% block main %}
      {% partialdef body inline %}
        <div id="body">
          {% problems %}
          <h1>Add an opening</h1>
          {% take_care %}
            <p>A wall that carries load needs a header sized by someone licensed.</p>
          {% endtake_care %}
          <form {% posts_here %}>
            {% csrf_token %}
            {{ form }}
            <div class="buttons">
              <button type="submit">Save the opening</button>
              <a href="...">Cancel</a>
            </div>
          </form>
          {% how_this_works %}
            <p>The width is of the rough opening, before any jamb.</p>
          {% endhow_this_works %}
        </div>
      {% endpartialdef %}
    {% endblock %}

What base.html does, so a page need not
- Title: `{% block title %}` alone; "Error: " is put in front when the context has a `form` with
  errors, or `has_errors`.
- `house` in the context fills the name, the six places and the way back. `section` ("house",
  "rooms", "orders", "log", "prices", "help") marks the place one is in where the route's name does
  not tell (`room-...`, `order-...`).
- Blocks: title, head, back, main, foot. In main: one `h1`, no level skipped. No inline style,
  script or `on...`.
- Answers 409 and 422 are swapped in like 200; the summary of errors takes focus and the title says
  Error. To leave the page, answer `go(request, "room-detail", room.pk)` of `remodel.web.responses`.
  `say(response, "Saved 14:32")` of the same speaks in the one live region. `data-focus` on an
  element of the swapped part takes focus; otherwise focus stays, or goes to the part.
- `<form {% posts_here %}>` opens a form that is sent to the page's own address and answered with
  the part `body`; `<form {% posts_to "order-place" order.pk %}>` is sent elsewhere, and
  `part="#plans"` names another part to swap.
- htmx attributes are not inherited here: elsewhere write `hx-target` and `hx-swap` on the element
  that has `hx-get` or `hx-post`.
- Every form that posts is sent by `static/web/sending.js`, with `hx-post` or without: one press
  sends once; a form with something to type in that cannot reach the server keeps it, says so, and
  is sent again by itself; one that is only pressed says that no answer came. A form without
  `hx-post` is a plain post for the view: it answers a full page, or redirects. No
  `hx-disabled-elt`: a button disabled by htmx loses focus, and stays disabled when one goes Back.

Forms
- Fields (`remodel.web.fields`): `LengthField` (nm; limits `least`, `most` and `example` in nm),
  `MoneyField` (cents), `CountField` (int), `DayField`, `TextField(example=..., lines=...)`;
  Django's ChoiceField (RadioSelect up to six), BooleanField, FileField fit too. Give `label` and,
  in `help_text` or `example`, what to write. "(optional)" is written for you. A service
  raises `Refused("Width must be ..., like ...", field="width")` for what only it can know.
- One field by itself: `{{ form.width.as_field_group }}`; then the hidden ones too: `{% for field in
  form.hidden_fields %}{{ field }}{% endfor %}`. Short fields in a row stand in a `<div
  class="side-by-side">`.
- Editing: `HouseForm(..., seen=Seen.of(room), initial={...})`: the rows the page is made from, and
  the class of those it lists whole (`Seen.of(None, Marking)`: there was none). Where somebody wrote
  one of them since, `edit` answers 409 with both values, and saving again keeps what was typed.
  `tests/remodel/test_two_people.py` tries every field.
- A list of rows: a `RowForm` each, bound by `posted_rows` (`remodel.web.row_forms`), handed to
  `edit(..., more=rows)`.
- A button without fields is a plain form; where a second press does more than the first, it posts
  `{{ form.key }}`.

Tags and filters (`{% load halfbay %}`; values in `remodel.web.parts`)
- `{{ nm|tape:house.units }}`  `{{ cents|money:house.currency }}`  `{{ when|moment }}`  `{{ date|day
  }}`
- `{{ need.amount|amount:house.units }}` for an amount of the engine, `{{ 4.5|amount:"gal" }}` for a
  bare number
- `{% saved when %}`  `{% status phase.state %}`  `{% progress 3 11 "rooms done" %}`
- `{% why "Why 14 boards" %}...{% endwhy %}`  `{% how_this_works %}...{% endhow_this_works %}`
- `{% take_care %}...{% endtake_care %}`  `{% notice "Sample prices" %}...{% endnotice %}`
- `{% facts rows %}` of `Fact`  `{% task_list tasks %}` of `Task`  `{% data_table table %}` of
  `Table`
- `{% drawing drawing %}` of `Drawing`: the SVG, its caption, the same facts as a table
- `{% empty_state "No rooms yet." url "Add the first room" %}`  `{% undo_bar "Deleted the window."
  url %}`
- `{% working "Looking for a better plan" done of stop_url %}`; inside a form, an element of class
  `when-working` has the words that stand at its Save buttons while it is being sent.

Who may look only
- `{% if house.pk in may_write %}` stands around each form and each link that only those who may
  change the house may use; base.html says once that the others may look only. Change links of
  `facts`, and links of a table that is `for_writers`, see to it by themselves. A page for writing
  alone fetches with `write=True`, for both verbs.

Look: classes are few: `button`, `button-quiet`, `buttons`, `lead`, `kicker`, `quiet`, `columns`
(two thirds and one), `side-by-side`, `number`, `unseen`, `on-paper` (a form that is printed too).
SVG classes: `board`, `member`, `seam`, `seam-floating`, `hole`, `measure`. Colours are the tokens
at the top of `static/web/web.css`; a new one goes through the contrast test. Paper is
`print_base.html` with `static/web/paper.css`: blocks title, about, printed, main; `paper` in the
context is "letter" or "a4".

A drawing carries black-on-white attributes (`fill="#fff" stroke="#000"`), which is what paper
shows, since the PDF's stylesheet does not reach into an SVG; on the screen the classes above put
the colours of the scheme over them."""
