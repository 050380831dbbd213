"""What is done with a lot on screen: sowing, raising, culling, splitting, closing; raised and culled of all families."""

from registry.calc.shared.screen import amount_words
from registry.choices import LotKind
from registry.forms.lots.lot_steps import CloseForm, CountForm, CullForm, RaiseForm, ReopenForm, SowForm, SplitForm
from registry.models import Lot
from registry.selectors.lots.lot_steps import account_lines, family_culls, leftovers_held, lot_leftovers
from registry.services.lots.ledger import lot_close, lot_put_back, lot_reopen, lot_split
from registry.services.lots.sowing import lot_cull, lot_raise, lot_sow
from registry.views.lots.ledger import quantity_at
from registry.views.lots.parts import account_part
from registry.views.pedigree.taxa import lot_url
from registry.views.shared.generic import PageView, RecordActionView
from registry.views.shared.tables import Column, ledger_table


class LotStepView(RecordActionView):
    """A step of a lot whose form knows the lot."""

    model = Lot
    action = "ledger.enter"
    title_words = "{}"

    def get_title(self):
        return self.title_words.format(self.object.code)

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"lot": self.object}

    def perform(self, form):
        with quantity_at("count"):
            return self.step(form.cleaned_data, form)

    def step(self, data, form):
        """Call the service of this step."""
        raise NotImplementedError


class LotSowView(LotStepView):
    form_class = SowForm
    title_words = "Sow seed of {}"
    question = "How many seeds are sown, when, and into which stock lot? The plants that come up are entered there."
    submit_label = "Sow"

    def get_initial(self):
        return {"count": self.object.balance or None}

    def get_cautions(self):
        return [
            {
                "title": "One family in one bed, with its label",
                "text": "Sow one lot only into a stock lot: two lots in one bed lose their mothers. Protect nuts from rodents. "
                "Common practice, no source: no deeper than 1 to 2.5 cm, the root side down or sideways.",
            }
        ]

    def step(self, data, form):
        return lot_sow(
            actor=self.request.user, lot=self.object, stock=form.target(), count=data["count"], on=data["on"], reason=data["note"]
        )  # fmt: skip

    def get_success_message(self):
        entry = self.result
        return f"{amount_words(-entry.quantity, 'seeds')} sown into {entry.counterpart.code}. Enter here what came up."

    def get_success_url(self):
        return lot_url(self.result.counterpart)


class LotRaiseView(LotStepView):
    form_class = RaiseForm
    title_words = "Plants raised in {}"
    question = "How many plants came up? They enter the ledger of this stock lot."
    submit_label = "Enter the plants"
    success_message = "Entered in the ledger."

    def step(self, data, form):
        return lot_raise(actor=self.request.user, lot=self.object, **data)


class LotCullView(LotStepView):
    form_class = CullForm
    title_words = "Cull plants of {}"
    question = "How many are taken out, and why? Families are compared by these figures: cull every family by the same rule."
    submit_label = "Cull"
    success_message = "Culled, and out of the ledger."

    def get_cautions(self):
        return [
            {
                "title": "What may carry the disease does not leave the nursery",
                "text": "Diseased plants may be under a permit or a quarantine rule. "
                "Check with the local authority how they are to be destroyed.",
            }
        ]

    def step(self, data, form):
        return lot_cull(actor=self.request.user, lot=self.object, **data)


class LotSplitView(LotStepView):
    form_class = SplitForm
    title_words = "Split {}"
    question = "How much of it goes into a lot of its own? The part keeps the lineage of this lot."
    submit_label = "Split"

    def step(self, data, form):
        self.moved = data["count"]
        return lot_split(
            actor=self.request.user, lot=self.object, part=form.target(), count=self.moved, on=data["on"], reason=data["reason"]
        )  # fmt: skip

    def get_success_message(self):
        return f"{amount_words(self.moved, self.object.unit)} moved into {self.result.code}."


class LotPutBackView(LotStepView):
    form_class = CountForm
    question = "How much goes back into the lot it was split from?"
    submit_label = "Put back"
    success_message = "Put back. Both ledgers have it."

    def get_title(self):
        return f"Put {self.object.code} back into {self.object.parent}" if self.object.parent else f"Put back {self.object.code}"

    def get_initial(self):
        return {"count": self.object.balance or None}

    def step(self, data, form):
        return lot_put_back(actor=self.request.user, part=self.object, **data)


class LotCloseView(RecordActionView):
    model = Lot
    action = "lot.close"
    form_class = CloseForm
    template_name = "registry/lots/lot_close.html"
    question = "Is every seed and plant of it accounted for?"
    submit_label = "Close the lot"
    success_message = "Closed. Its ledger takes no entry until it is opened again."

    def get_title(self):
        return f"Close {self.object.code}"

    def perform(self, form):
        return lot_close(actor=self.request.user, lot=self.object, **form.cleaned_data)

    def get_context_data(self, **kwargs):
        lot = self.object
        notes = []
        if lot.balance:
            notes.append(f"{amount_words(lot.balance, lot.unit)} still on hand. Enter where they went before you close the lot.")
        held = leftovers_held(lot_leftovers(lot))
        if held:
            notes.append(f"{amount_words(held, lot.unit)} reported as leftovers still held by a receiver. Ask what became of them.")
        return super().get_context_data(**kwargs) | {"account": account_part(lot, account_lines(lot.ledger.all())), "notes": notes}


class LotReopenView(RecordActionView):
    model = Lot
    action = "lot.close"
    form_class = ReopenForm
    question = "What has to be put right in its ledger?"
    submit_label = "Open the lot again"
    success_message = "Open again. Close it when its ledger is right."

    def get_title(self):
        return f"Open {self.object.code} again"

    def perform(self, form):
        return lot_reopen(actor=self.request.user, lot=self.object, **form.cleaned_data)


class RaisedView(PageView):
    """Families in the nursery side by side."""

    action = "lot.view"
    template_name = "registry/lots/raised.html"
    title = "Raised and culled"
    question = "How many plants did each family give, and what was culled of it, for what reason?"

    def get_page(self):
        rows = family_culls(self.scoped(Lot).filter(kind=LotKind.STOCK))
        columns = (
            Column("Stock lot", lambda row: row.lot.code, kind="code", url=lambda row: lot_url(row.lot)),
            Column("Family", "family"),
            Column("Sown (seeds)", "sown", "right", "number"),
            Column("Raised (plants)", "raised", "right", "number"),
            Column("Culled (plants)", "culled", "right", "number"),
            Column("Culled of raised (%)", _share_words, "right"),
            Column("Why", lambda row: ", ".join(f"{count:,} {reason}" for reason, count in row.reasons)),
        )
        note = "Shares with their 95 % Wilson interval. Beds differ: a family culled hard may have stood in a poor bed."
        return {"table": ledger_table("Families", columns, rows, unit="stock lots", note=note, empty="No stock lot raised from seed yet.")}


def _share_words(row):
    share = row.share
    return f"{100 * share.share:.0f} ({100 * share.low:.0f}–{100 * share.high:.0f})" if share else ""
