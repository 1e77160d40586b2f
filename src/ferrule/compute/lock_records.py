"""Each record of a product as a frozen build keeps it."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from ferrule.compute.lock_form import (
    LockedAlternate,
    LockedApproval,
    LockedAssembly,
    LockedDocument,
    LockedEach,
    LockedFirm,
    LockedLine,
    LockedPart,
    LockedPrice,
    LockedQuality,
    LockedSource,
    LockedStatement,
    LockedStep,
    LockedTool,
    LockedWaiver,
)
from ferrule.compute.sourcing import preferred
from ferrule.compute.structure import Structure
from ferrule.model.number import plain
from ferrule.model.product import Product
from ferrule.model.records.assembly import Line, Quality, Step
from ferrule.model.records.common import Document, Payment
from ferrule.model.records.firms import Firm
from ferrule.model.records.part import Approval, Part, PriceBreak, Source, Substances
from ferrule.model.records.tool import Tool
from ferrule.model.records.waiver import Waiver

__all__ = ["locked_assembly", "locked_firm", "locked_part", "locked_tool", "locked_waiver"]


def locked_part(part: Part, each: tuple[LockedEach, ...]) -> LockedPart:
    """Return a part with what one of each SKU needs of it."""
    chosen = set(preferred(part.source))
    return LockedPart(
        name=part.name or "",
        rev=part.rev or "",
        class_=part.class_ or "",
        unit=part.unit,
        each=each,
        supply=part.supply or "",
        in_house=part.in_house,
        lifecycle=part.lifecycle.status if part.lifecycle is not None else "",
        material=part.material or "",
        finish=part.finish or "",
        programmed=part.programmed.image if part.programmed is not None else "",
        version=part.version or "",
        toolchain=part.toolchain or "",
        safety_critical=part.safety_critical,
        document=_documents(part.document),
        statement=tuple(map(_statement, part.substances)),
        approval=_approvals(part.approval),
        source=tuple(_source(source, chosen=index in chosen) for index, source in enumerate(part.source)),
    )


def locked_assembly(product: Product, structure: Structure, number: str) -> LockedAssembly:
    """Return an assembly with its lines, fitted or not, in the order of their items."""
    assembly = product.assemblies[number]
    lines = sorted(enumerate(product.lines.get(number, ())), key=lambda row: (row[1].item, row[0]))
    reasons = {(parent, index): reason for parent, index, reason in structure.left_out}
    price = assembly.price
    return LockedAssembly(
        name=assembly.name or "",
        rev=assembly.rev or "",
        sku=bool(assembly.sale),
        phantom=assembly.phantom,
        factory=assembly.factory or "",
        barcode=assembly.barcode or "",
        variant=assembly.variant or "",
        quote=price.quote or "" if price is not None else "",
        quoted=price.quoted if price is not None else None,
        valid_until=price.valid_until if price is not None else None,
        quality=_quality(assembly.quality) if assembly.quality is not None else None,
        document=_documents(assembly.document),
        approval=_approvals(assembly.approval),
        step=tuple(map(_step, assembly.steps)),
        line=tuple(_line(line, reasons.get((number, index), "")) for index, line in lines),
    )


def locked_tool(tool: Tool) -> LockedTool:
    """Return a tool with its custody and condition."""
    paper = tool.agreement
    return LockedTool(
        name=tool.name,
        kind=tool.kind,
        makes=tool.makes,
        owner=tool.owner or "",
        custodian=tool.custodian or "",
        location=tool.location or "",
        mark=tool.mark or "",
        cavities=tool.cavities,
        life=_decimal(tool.life),
        used=_decimal(tool.used),
        approved=tool.approved,
        agreement=paper.file or paper.title if paper is not None else "",
        agreement_sha256=paper.sha256 or "" if paper is not None else "",
        agreement_signed=paper.signed if paper is not None else None,
        agreement_until=paper.valid_until if paper is not None else None,
        document=_documents(tool.document),
    )


def locked_firm(firm: Firm) -> LockedFirm:
    """Return a firm with its terms of payment."""
    return LockedFirm(name=firm.name, country=firm.country or "", payment=_payments(firm.payment))


def locked_waiver(waiver: Waiver) -> LockedWaiver:
    """Return a waiver as it was accepted."""
    return LockedWaiver(
        rule=waiver.rule,
        subject=waiver.subject,
        kind=waiver.kind,
        reason=waiver.reason,
        risk=waiver.risk or "",
        risk_owner=waiver.risk_owner or "",
        accepted_by=waiver.accepted_by or "",
        accepted=waiver.accepted,
        until=waiver.until,
        quantity=_decimal(waiver.quantity),
        serials=str(waiver.serials) if waiver.serials is not None else "",
        corrective_action=waiver.corrective_action or "",
        renewals=waiver.renewals,
    )


def _source(source: Source, *, chosen: bool) -> LockedSource:
    pack = source.pack[0] if source.pack else None
    return LockedSource(
        chosen=chosen,
        status=source.status,
        maker=source.maker or "",
        maker_part=source.maker_part or "",
        seller=source.seller or "",
        seller_part=source.seller_part or "",
        share=str(source.share) if source.share is not None else "",
        origin=source.origin or "",
        origin_evidence=source.origin_evidence or "",
        incoterm=str(source.incoterm) if source.incoterm is not None else "",
        quote=source.quote or "",
        quoted=source.quoted,
        valid_until=source.valid_until,
        basis=source.basis,
        evidence=source.evidence or "",
        moq=_decimal(source.moq),
        multiple=_decimal(source.multiple),
        pack=pack.form if pack is not None else "",
        pack_size=str(pack.size) if pack is not None and pack.size is not None else "",
        lead_time=str(source.lead_time) if source.lead_time is not None else "",
        payment=_payments(source.payment),
        price=tuple(_price(each, source.currency or "") for each in source.price),
        approval=_approvals(source.approval),
    )


def _price(price: PriceBreak, currency: str) -> LockedPrice:
    each, pack = price.each, price.pack
    return LockedPrice(
        from_=Decimal(price.from_),
        each=str(each.within(currency)) if each is not None else "",
        pack=str(pack.within(currency)) if pack is not None else "",
    )


def _line(line: Line, reason: str) -> LockedLine:
    return LockedLine(
        item=line.item,
        part=line.part,
        qty=str(line.qty) if line.qty is not None else "",
        per=line.per,
        rate=str(line.rate) if line.rate is not None else "",
        cut=str(line.cut) if line.cut is not None else "",
        designators=str(line.designators) if line.designators is not None else "",
        counts=reason,
        supply=line.supply or "",
        step=line.step or "",
        note=line.note or "",
        alternates=tuple(LockedAlternate(part=each.part, approved=each.approved) for each in line.alternates),
    )


def _step(step: Step) -> LockedStep:
    return LockedStep(
        name=step.name,
        firm=step.firm or "",
        fixture=step.fixture or "",
        program=step.program.file if step.program is not None else "",
        program_rev=step.program.rev or "" if step.program is not None else "",
        yield_=str(step.yield_) if step.yield_ is not None else "",
        yield_evidence=step.yield_evidence or "",
    )


def _quality(quality: Quality) -> LockedQuality:
    return LockedQuality(
        file=quality.file or "",
        rev=quality.rev or "",
        signed=quality.signed,
        level=quality.level,
        critical=quality.critical or "",
        major=quality.major or "",
        minor=quality.minor or "",
        lot=quality.lot or "",
    )


def _documents(documents: Iterable[Document]) -> tuple[LockedDocument, ...]:
    return tuple(
        LockedDocument(
            kind=each.kind,
            file=each.file,
            rev=each.rev or "",
            approved_by=each.approved_by or "",
            approved=each.approved,
        )
        for each in documents
    )


def _statement(row: Substances) -> LockedStatement:
    return LockedStatement(
        rule=row.rule,
        statement=row.statement or "",
        sha256=row.sha256 or "",
        date=row.date,
        exemption=row.exemption or "",
        exempt=row.exempt or "",
    )


def _approvals(approvals: Iterable[Approval]) -> tuple[LockedApproval, ...]:
    return tuple(
        LockedApproval(role=each.role, by=each.by, date=each.date, evidence=each.evidence or "")
        for each in approvals
    )


def _payments(payments: Iterable[Payment]) -> tuple[str, ...]:
    return tuple(f"{payment.share} {payment.due}" for payment in payments)


def _decimal(number: Decimal | None) -> Decimal | None:
    return Decimal(plain(number)) if number is not None else None
