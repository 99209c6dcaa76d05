// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QWidget>
#include <atomic>
#include <memory>
#include <optional>

#include "core/calibrate/CalibratePhotographs.h"
#include "ui/document/Prompts.h"
#include "ui/tasks/Jobs.h"

class QLabel;
class QListWidget;
class QPlainTextEdit;
class QPushButton;
class QTabWidget;

namespace trammel::ui {

class BoardForm;
class KeptLenses;
class LensNames;
class SheetView;

/// Calibrating a lens from photographs of a board of squares. At the left the board and its photographs, each
/// with a tick; at the right the board to print, what the calibration came to as its page is printed, the
/// same in words, and the kept lenses. Works on a worker, what core/calibrate does for the batch as well.
class LensPage : public QWidget {
    Q_OBJECT
  public:
    LensPage(Jobs& jobs, Prompts& prompts, QWidget* parent = nullptr);
    ~LensPage() override;

    void addPhotographs(const QStringList& files);
    /// Of what is ticked and typed; nothing while it is being made, where it is refused, or once something
    /// has changed.
    const std::optional<calibrate::LensCalibration>& calibration() const { return calibration_; }

  Q_SIGNALS:
    void backAsked();
    void said(const QString& sentence);
    void wrong(const trammel::Error& error);

  protected:
    void keyPressEvent(QKeyEvent* event) override;
    void showEvent(QShowEvent* event) override;

  private:
    enum Tab { BoardTab, ResultTab, WordsTab, KeptTab };
    QWidget* makeLeft();
    QWidget* makeRight();
    QWidget* makePhotographs();
    QWidget* withSave(SheetView* view, QWidget* above, const char* name, const QString& tip);
    void changed();  ///< what was computed is no longer of what is ticked and typed
    void begin();
    void take(int round, const QStringList& files, const Result<calibrate::LensCalibration>& made);
    void refuse(const Error& error);
    void describe(const QStringList& files, const calibrate::Calibration& made);
    void forgetOutcomes();
    void showBoard();
    void save(SheetView* view, const QString& suggestion, const QString& title);
    void keep();
    void refreshButtons();
    QStringList ticked() const;

    Jobs& jobs_;
    Prompts& prompts_;
    BoardForm* board_;
    QListWidget* photographs_;
    QPushButton *add_, *remove_, *run_;
    QPushButton *saveBoard_ = nullptr, *saveResult_ = nullptr;
    QLabel *verdict_, *next_, *boardWords_;
    QTabWidget* tabs_;
    SheetView *boardView_, *resultView_;
    QPlainTextEdit* words_;
    LensNames* names_;
    KeptLenses* kept_;
    int round_ = 0;
    bool running_ = false, quiet_ = false;
    std::shared_ptr<std::atomic<bool>> stale_;
    std::optional<calibrate::LensCalibration> calibration_;
};

}  // namespace trammel::ui
