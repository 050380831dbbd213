"""What is done with a lot on screen: sowing, raising, culling, splitting, closing; raised and culled plants of all families."""

from django.utils.functional import cached_property

from registry.calc.shared.screen import amount_words
from registry.choices import LotKind
from registry.forms.lots.lot_steps import CloseForm, CountForm, CullForm, RaiseForm, ReopenForm, SowForm, SplitForm
from registry.models import Lot
from registry.selectors.lots.lot_steps import account_lines, family_culls, leftovers_held, lot_leftovers
from registry.services.lots.ledger import lot_close, lot_put_back, lot_reopen, lot_split
from registry.services.lots.sowing import lot_cull, lot_raise, lot_sow
from registry.views.lots.ledger import LotLedgerActionView
from registry.views.lots.sections import ACCOUNT
from registry.views.shared.details import PageView
from registry.views.shared.forms import RecordActionView
from registry.views.shared.tables import Column, Link, ledger_table


class LotSowView(LotLedgerActionView):
    form_class = SowForm
    service = lot_sow
    title = "Sow seed of {object.code}"
    question = "How many seeds are sown, when, and into which stock lot? Enter the plants that come up in that lot."
    submit_label = "Sow"
    cautions = (
        {
            "title": "One family in one bed, with its label",
            "text": "Sow only one lot into a stock lot: when two lots share a bed, their mothers can no longer be told apart. Protect seed "
            "from rodents. Common practice, no source: no deeper than 1 to 2.5 cm, root side down or sideways.",
        },
    )
    initial = property(lambda page: {"count": page.object.balance or None})
    leads_to = property(lambda page: page.result.counterpart)

    def values(self, form):
        data = form.cleaned_data
        return {"stock": form.target(), "count": data["count"], "on": data["on"], "reason": data["note"]}

    @property
    def success_message(self):
        entry = self.result
        return f"{amount_words(-entry.quantity, 'seeds')} sown into {entry.counterpart.code}. Enter here what comes up."


class LotRaiseView(LotLedgerActionView):
    form_class = RaiseForm
    service = lot_raise
    title = "Plants raised in {object.code}"
    question = "How many plants came up? They are added to the ledger of this stock lot."
    submit_label = "Save the plants raised"
    success_message = "Plants raised saved in the ledger."


class LotCullView(LotLedgerActionView):
    form_class = CullForm
    service = lot_cull
    title = "Cull plants of {object.code}"
    question = "How many are taken out, and why? These figures compare families, so cull every family by the same rule."
    submit_label = "Cull"
    success_message = "Plants culled and taken off the ledger."
    cautions = (
        {
            "title": "Do not let plants that may carry the disease leave the nursery",
            "text": "Diseased plants may be under a permit or a quarantine rule. "
            "Check with the local authority how they are to be destroyed.",
        },
    )


class LotSplitView(LotLedgerActionView):
    form_class = SplitForm
    service = lot_split
    title = "Split {object.code}"
    question = "How much of it goes into a lot of its own? The new lot has the same lineage."
    submit_label = "Split"
    success_message = property(lambda page: f"{amount_words(page.moved, page.object.unit)} moved into {page.result.code}.")

    def values(self, form):
        data = form.cleaned_data
        self.moved = data["count"]
        return {"part": form.target(), "count": self.moved, "on": data["on"], "reason": data["reason"]}


class LotPutBackView(LotLedgerActionView):
    form_class = CountForm
    service = lot_put_back
    argument = "part"
    question = "How much goes back into the lot it was split from?"
    submit_label = "Put back"
    success_message = "Put back. Both ledgers show it."
    initial = property(lambda page: {"count": page.object.balance or None})

    @property
    def title(self):
        return f"Put {self.object.code} back into {self.object.parent}" if self.object.parent else f"Put back {self.object.code}"


class LotCloseView(RecordActionView):
    model = Lot
    action = "lot.close"
    form_class = CloseForm
    service = lot_close
    template_name = "registry/lots/lot_close.html"
    title = "Close {object.code}"
    question = "Is every seed and plant of it accounted for?"
    submit_label = "Close the lot"
    success_message = "Lot closed. Open it again to add to its ledger."

    account = cached_property(lambda page: account_lines(page.object.ledger.all()))

    def account_parts(self):
        return ACCOUNT.draw(self) or ()

    def notes(self):
        lot, notes = self.object, []
        if lot.balance:
            notes.append(f"{amount_words(lot.balance, lot.unit)} still on hand. Enter where they went before you close the lot.")
        held = leftovers_held(lot_leftovers(lot))
        if held:
            notes.append(f"{amount_words(held, lot.unit)} reported as leftovers still held by a receiver. Ask what became of them.")
        return notes


class LotReopenView(RecordActionView):
    model = Lot
    action = "lot.close"
    form_class = ReopenForm
    service = lot_reopen
    title = "Open {object.code} again"
    question = "What has to be corrected in its ledger?"
    submit_label = "Open the lot again"
    success_message = "Lot opened again. Close it when its ledger is right."


class RaisedView(PageView):
    """Families in the nursery side by side."""

    action = "lot.view"
    template_name = "registry/lots/raised.html"
    title = "Raised and culled"
    question = "How many plants did each family give, how many were culled, and why?"

    def get_page(self):
        rows = family_culls(self.scoped(Lot).filter(kind=LotKind.STOCK))
        columns = (
            Column("Stock lot", "lot.code", kind="code", url=Link("lot_detail", "lot.pk")),
            Column("Family", "family"),
            Column("Sown (seeds)", "sown", "right", "number"),
            Column("Raised (plants)", "raised", "right", "number"),
            Column("Culled (plants)", "culled", "right", "number"),
            Column("Culled of raised (%)", _share_words, "right"),
            Column("Why", lambda row: ", ".join(f"{count:,} {reason}" for reason, count in row.reasons), wide=True),
        )
        note = "Shares with their 95 % Wilson interval. Beds differ: a family with many culls may have grown in a poor bed."
        empty = "No stock lot has been raised from seed yet."
        return {"table": ledger_table("Families", columns, rows, unit="stock lots", note=note, empty=empty)}


def _share_words(row):
    share = row.share
    return f"{100 * share.share:.0f} ({100 * share.low:.0f}–{100 * share.high:.0f})" if share else ""
