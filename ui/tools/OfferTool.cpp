// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tools/OfferTool.h"

#include <QCoreApplication>
#include <QPainter>
#include <algorithm>

#include "ui/canvas/OfferPainter.h"
#include "ui/document/Choice.h"
#include "ui/document/Document.h"
#include "ui/tools/MarkEdits.h"

namespace trammel::ui {
namespace {

constexpr double kRivalZoom = 5.0;  // screen px for a px: lines 3 px apart can then be told and hit

QString tr(const char* text) { return QCoreApplication::translate("OfferTool", text); }

std::vector<QPointF> lineOf(const fit::Offer& offer) {
    std::vector<QPointF> line;
    for (const auto& p : offer.mark.points.empty() ? offer.expected.points : offer.mark.points)
        line.emplace_back(p.px.x(), p.px.y());
    return line;
}

}  // namespace

OfferTool::OfferTool(ToolContext& context, survey::Id station, std::vector<fit::Offer> offers,
                     RivalWanted rivalWanted)
    : Tool(context), station_(std::move(station)), rivalWanted_(std::move(rivalWanted)) {
    for (fit::Offer& offer : offers)
        if (offer.standing != fit::Standing::None) offers_.push_back(std::move(offer));
    // Sure ones first: they are gone through soonest.
    std::ranges::stable_sort(offers_, {}, [](const fit::Offer& o) { return o.standing; });
    rejected_.assign(offers_.size(), false);
}

bool OfferTool::isOpen(std::size_t i) const {
    const auto& survey = context_.document.survey();
    const auto& feature = offers_[i].expected.feature;
    return !rejected_[i] && survey::find(survey.features, feature) && !markOf(survey, station_, feature);
}

bool OfferTool::isShown() const { return context_.choice.station() == station_; }

int OfferTool::left() const {
    int n = 0;
    for (std::size_t i = 0; i < offers_.size(); ++i) n += isOpen(i);
    return n;
}

int OfferTool::sureLeft() const {
    int n = 0;
    for (std::size_t i = 0; i < offers_.size(); ++i)
        n += isOpen(i) && offers_[i].standing == fit::Standing::Sure;
    return n;
}

const fit::Offer* OfferTool::current() const {
    return isShown() && current_ < offers_.size() && isOpen(current_) ? &offers_[current_] : nullptr;
}

QString OfferTool::name(const fit::Offer& offer) const {
    return QString::fromStdString(survey::describe(context_.document.survey(), offer.expected.feature));
}

QString OfferTool::words() const {
    const auto* station = survey::find(context_.document.survey().stations, station_);
    if (!isShown())
        return tr("Marks are on offer in photograph %1; Escape drops them.")
            .arg(QString::fromStdString(station ? station->name : station_));
    const auto* offer = current();
    if (!offer)
        return left() ? tr("N goes on to the next offered mark; Escape drops the others.")
                      : tr("No offered mark is left; Escape ends.");
    const QString head = tr("%1 (%2): ").arg(current_ + 1).arg(name(*offer));
    const QString why = QString::fromStdString(offer->why);
    if (!offer->rivals.empty())
        return head +
               tr("press the letter of its edge or click it; Delete rejects, N next. Here are %1").arg(why);
    if (offer->standing == fit::Standing::Unsure)
        return head + tr("unsure, %1 Enter takes it all the same, Delete rejects, N next.").arg(why);
    return head + tr("sure. Enter takes it, Delete rejects, N next; Shift+Enter takes all %1 sure ones.")
                      .arg(sureLeft());
}

QString OfferTool::keys() const {
    QString keys = QStringLiteral("N");
    if (const auto* offer = current())
        for (std::size_t i = 0; i < offer->rivals.size() && i < 13; ++i)  // A to M; N goes on
            keys += QChar('A' + static_cast<int>(i));
    return keys;
}

void OfferTool::key(QChar letter) {
    if (letter.toUpper() == QLatin1Char('N')) return step(1);
    chooseRival(static_cast<std::size_t>(letter.toUpper().unicode() - u'A'));
}

void OfferTool::press(const QPointF& photo) {
    if (!isShown()) return;
    if (const auto* offer = current(); offer && !offer->rivals.empty())
        if (const int at = rivalAt(offer->rivals, photo, context_.reach()); at >= 0)
            return chooseRival(static_cast<std::size_t>(at));
    double nearest = context_.reach();
    for (std::size_t i = 0; i < offers_.size(); ++i) {
        if (!isOpen(i)) continue;
        const double d = distanceTo(lineOf(offers_[i]), photo, false);
        if (d <= nearest) nearest = d, current_ = i;
    }
    context_.refresh();
}

void OfferTool::step(int by) {
    const std::size_t n = offers_.size();
    for (std::size_t k = 1; k <= n; ++k) {
        const std::size_t i = (current_ + (by > 0 ? k : n - k % n)) % n;
        if (!isOpen(i)) continue;
        current_ = i;
        break;
    }
    look();
    context_.refresh();
}

bool OfferTool::stepBack() {
    step(-1);
    return true;
}

void OfferTool::look() {
    const auto* offer = current();
    if (!offer || !context_.look) return;
    const auto line = lineOf(*offer);
    context_.look(line[line.size() / 2], offer->rivals.empty() ? 0.0 : kRivalZoom);
}

/// Leaves one that is no longer open.
void OfferTool::settle() {
    if (current_ < offers_.size() && !isOpen(current_) && left() > 0) return step(1);
    context_.refresh();
}

void OfferTool::perform(const std::vector<survey::Mark>& marks) {
    const auto done = context_.document.perform(takeOffersEdit(context_.document.survey(), marks));
    if (!done) context_.complain(done.error());
    settle();
}

void OfferTool::take() {
    const auto* offer = current();
    if (!offer) return;
    if (offer->mark.points.empty())
        return context_.complain({ErrorCode::Refused, "waits for a choice between its edges",
                                  name(*offer).toStdString(),
                                  "press the letter of the meant one or click it"});
    perform({offer->mark});
}

void OfferTool::takeSure() {
    std::vector<survey::Mark> marks;
    for (std::size_t i = 0; i < offers_.size(); ++i)
        if (isOpen(i) && offers_[i].standing == fit::Standing::Sure) marks.push_back(offers_[i].mark);
    if (!marks.empty()) perform(marks);
}

void OfferTool::takeFitted(const survey::Id& feature, const survey::Mark& mark) {
    for (std::size_t i = 0; i < offers_.size(); ++i)
        if (offers_[i].expected.feature == feature && isOpen(i)) return perform({mark});
}

void OfferTool::reject() {
    if (!current()) return;
    rejected_[current_] = true;
    settle();
}

void OfferTool::chooseRival(std::size_t index) {
    const auto* offer = current();
    if (offer && index < offer->rivals.size()) rivalWanted_(*offer, offer->rivals[index]);
}

void OfferTool::paint(QPainter& painter, const ViewTransform& view) const {
    if (!isShown()) return;
    std::vector<OfferSign> signs;
    for (std::size_t i = 0; i < offers_.size(); ++i) {
        if (!isOpen(i)) continue;
        const fit::Offer& o = offers_[i];
        if (!o.rivals.empty()) paintRivals(painter, view, o.rivals, i == current_);
        const auto* f = survey::find(context_.document.survey().features, o.expected.feature);
        const bool round = f->kind == survey::FeatureKind::Hole || f->kind == survey::FeatureKind::Slot;
        signs.push_back({static_cast<int>(i) + 1, QString::fromStdString(f->name.empty() ? f->id : f->name),
                         lineOf(o), round, o.standing == fit::Standing::Sure, i == current_,
                         !o.rivals.empty()});
    }
    paintOffers(painter, view, signs);
}

}  // namespace trammel::ui
